"""Fuzzing of the doors that strangers' files come through.

    python -m tests.fuzz [job|edits|mesh|jobs ...] [--minutes N] [--keep FOLDER] [--without-atheris]

Each target runs for N minutes in processes of its own, under the limits that hold for any file: ten
seconds of processor time and 2 GB. With atheris (``pip install '.[fuzz]'``) inputs are led by what they reach in the
program, but for whole jobs; without, seeds are changed at random. What makes trouble is written into the folder, one
file for each place it came from, and told; the exit code is 1 then. At the end: how many inputs were
tried, what became of them, and the processor time it took.
"""

from __future__ import annotations

import argparse
import importlib.util
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any, Final

from tests.fuzz.seeds import WORDS, first
from tests.fuzz.targets import TARGETS

_MOST_BYTES: Final = {"job": 12_000, "edits": 80, "mesh": 40_000, "jobs": 6_000}


def main() -> int:
    """Run the targets asked for; 1 when one of them made trouble."""
    asked = argparse.ArgumentParser(prog="python -m tests.fuzz")
    asked.add_argument("targets", nargs="*", metavar="TARGET", help=", ".join(TARGETS))
    asked.add_argument("--minutes", type=float, default=60.0)
    asked.add_argument("--keep", type=Path, help="what is found, and the inputs that led furthest")
    asked.add_argument("--without-atheris", action="store_true")
    given = asked.parse_args()
    if unknown := sorted(set(given.targets) - set(TARGETS)):
        asked.error(f"no such target: {', '.join(unknown)}; there are {', '.join(TARGETS)}")
    keep = given.keep or Path(tempfile.mkdtemp(prefix="routecut-fuzz-"))
    led = importlib.util.find_spec("atheris") is not None and not given.without_atheris
    _say(f"{'atheris' if led else 'changes at random, without atheris'}; what is found goes to {keep}")
    troubled = False
    for target in given.targets or TARGETS:
        # whole jobs are made up by hypothesis: its choices do better at random, and counters in all that a plan
        # goes through took 2 GB after two hundred of them
        told = _run(target, keep / target, minutes=given.minutes, led=led and target != "jobs")
        troubled |= bool(told["trouble"])
        _say(told_line(target, told))
    return int(troubled)


def _say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def told_line(target: str, told: dict[str, Any]) -> str:
    """What became of a target, in one line."""
    ends = ", ".join(f"{count} {name}" for name, count in sorted(told["ended"].items()))
    trouble = "; ".join(sorted(told["trouble"])) or "none"
    return (
        f"{target}: {told['runs']} inputs in {told['wall_s'] / 60:.1f} min ({ends}), {told['cpu_s'] / 60:.1f} min "
        f"of processor time, {told['processes']} processes; trouble: {trouble}"
    )


def _run(target: str, folder: Path, *, minutes: float, led: bool) -> dict[str, Any]:
    corpus, found = folder / "corpus", folder / "found"
    for place in (corpus, found):
        place.mkdir(parents=True, exist_ok=True)
    for number, seed in enumerate(first(target)):
        (corpus / f"seed-{number:03d}").write_bytes(seed)
    words = folder / "words"
    words.write_text("".join(f'"{_escaped(word)}"\n' for word in WORDS), encoding="ascii")
    total: dict[str, Any] = {
        "runs": 0,
        "cpu_s": 0.0,
        "wall_s": 0.0,
        "processes": 0,
        "ended": {},
        "trouble": [],
    }
    began = time.monotonic()
    while (left := minutes * 60 - (time.monotonic() - began)) > 1:
        stats = folder / "stats.json"
        stats.unlink(missing_ok=True)
        child = [sys.executable, "-m", "tests.fuzz.child", target, str(folder), "--seconds", str(int(left))]
        if led:
            child += [
                f"-dict={words}",
                f"-max_len={_MOST_BYTES[target]}",
                f"-timeout={120 if target == 'jobs' else 60}",
                "-rss_limit_mb=2048",
            ]
            child += [f"-artifact_prefix={found}/", "-print_final_stats=1", str(corpus)]
        with (folder / "log").open("ab") as log:
            run = subprocess.run(child, check=False, stdout=log, stderr=log, env=dict(os.environ))
        total["processes"] += 1
        if not stats.exists():
            total["trouble"].append(f"no process could be started: see {folder / 'log'}")
            break
        told = json.loads(stats.read_text(encoding="utf-8"))
        total["runs"] += told["runs"]
        total["cpu_s"] += told["cpu_s"]
        for name, count in told["ended"].items():
            total["ended"][name] = total["ended"].get(name, 0) + count
        if run.returncode and time.monotonic() - began < minutes * 60 - 5:
            total["trouble"].append(f"ended with {run.returncode}")
    total["wall_s"] = time.monotonic() - began
    total["trouble"] += sorted(path.name for path in found.iterdir())
    return total


def _escaped(word: str) -> str:
    return "".join(c if c.isalnum() or c in " ._-" else f"\\x{ord(c):02x}" for c in word)


if __name__ == "__main__":
    sys.exit(main())
