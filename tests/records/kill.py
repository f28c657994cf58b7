"""Writers of the record and of plans, killed at moments nobody chose.

    python -m tests.records.kill --records 500 --plans 500

kills so many writers with SIGKILL and looks at what they leave. A writer says after each line that it was
accepted; the bytes of a line go to the disk a few at a time, so that most kills meet one half written.
Plans are killed in the same way; what is left must be the old plan or the new one, whole.
"""

from __future__ import annotations

import argparse
import contextlib
import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

from routecut.planning.kept import MANIFEST
from routecut.planning.output import refuse_unwritable
from routecut.records import read_journal

WORLD = Path(__file__).parents[1] / "worlds" / "wall-hole"

WRITER = """
import os, sys, time
from pathlib import Path
import routecut.records.journal as journal

whole = os.write
def bit_by_bit(handle, data):
    time.sleep(0.0001)
    return whole(handle, data[:9])
journal.os.write = bit_by_bit

folder, first = Path(sys.argv[1]), int(sys.argv[2])
for number in range(first, first + 1000):
    made = journal.append(folder, [{"what": "note", "kind": "job", "name": "job", "text": f"entry {number}"}])
    journal.os.write = whole
    sys.stdout.write(f"{number} {made[0].digest}\\n"); sys.stdout.flush()
    journal.os.write = bit_by_bit
"""


@dataclass
class Tally:
    """What was seen."""

    kills: int = 0
    accepted: int = 0
    torn: int = 0
    lost: int = 0
    unreported: int = 0
    half_plans: int = 0
    old: int = 0
    new: int = 0
    during: int = 0
    gap: int = 0

    @property
    def sound(self) -> bool:
        """Nothing was lost, nothing half written went unsaid."""
        return not (self.lost or self.unreported or self.half_plans)


def kill_records(folder: Path, kills: int, seed: int = 1) -> Tally:
    """Kill so many writers of one record, each at a random moment after its first line."""
    chance, tally = random.Random(seed), Tally()  # noqa: S311
    accepted: dict[str, str] = {}
    for number in range(kills):
        writer = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(folder), str(number * 1000)],
            stdout=subprocess.PIPE,
            text=True,
        )
        assert writer.stdout is not None
        first = writer.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.03))
        writer.kill()
        said = first + writer.communicate()[0]
        tally.kills += 1
        # a line of the pipe without its end was not said
        for line in said.split("\n")[:-1]:
            entry, digest = line.split()
            accepted[digest] = entry
        data = (folder / "record.jsonl").read_bytes() if (folder / "record.jsonl").exists() else b""
        found = read_journal(folder)
        unfit = [piece for piece in data.split(b"\n") if piece and not fits(piece)]
        tally.torn = len(unfit)
        named = [f for f in found.findings if f.code == "record-torn" and "is torn" in f.message]
        tally.unreported += abs(len(named) - len(unfit)) + sum(
            f.code != "record-torn" for f in found.findings
        )
        tally.lost = len(set(accepted) - {line.digest for line in found.lines})
    tally.accepted = len(accepted)
    return tally


def fits(piece: bytes) -> bool:
    """Whether a line is whole, told without the code that reads them."""
    body, _, rest = piece.rpartition(b', "digest": "')
    return rest == hashlib.sha256(body).hexdigest().encode() + b'"}'


def kill_plans(folder: Path, kills: int, seed: int = 2) -> Tally:
    """Kill so many plans of a small job, each in a process of its own, and look at what the next one would find.

    The processes are forked from this one, which has loaded the program already: most of their time is
    then spent on the plan. Nothing is drawn.
    """
    import routecut.preview
    from routecut.cli.plan import plan_and_write

    vars(routecut.preview)["can_draw"] = lambda: False
    chance, tally = random.Random(seed), Tally()  # noqa: S311
    job = folder / "job"
    shutil.copytree(WORLD, job)
    text = (job / "job.toml").read_text(encoding="utf-8")
    plan_and_write(job, tell=False)  # loads what is loaded late
    began = time.monotonic()
    plan_and_write(job, tell=False)
    takes = time.monotonic() - began
    for number in range(kills):
        (job / "job.toml").write_text(text.replace("wall with holes", f"wall {number}"), encoding="utf-8")
        planner = os.fork()
        if planner == 0:
            try:
                nowhere = os.open(os.devnull, os.O_WRONLY)
                os.dup2(nowhere, 1)
                os.dup2(nowhere, 2)
                plan_and_write(job, tell=False)
            finally:
                os._exit(0)
        # most of the time is spent on reading and routing: three of four kills come when it is written, as
        # far as that can be told from those before
        late = chance.random() < 0.75
        time.sleep(takes * (chance.uniform(0.85, 1.15) if late else chance.random()))
        runs = os.waitpid(planner, os.WNOHANG)[0] == 0
        tally.during += runs
        if late:
            takes *= 1.1 if runs else 0.93
        with contextlib.suppress(ProcessLookupError):
            os.kill(planner, signal.SIGKILL)
        with contextlib.suppress(ChildProcessError):
            os.waitpid(planner, 0)
        tally.kills += 1
        tally.gap += not (job / "plan").exists()
        refuse_unwritable(job / "plan")  # what every command does first
        title = whole_plan(job / "plan")
        tally.half_plans += title is None
        tally.new += title == f"wall {number}"
        tally.old += title not in {None, f"wall {number}"}
    return tally


def whole_plan(plan: Path) -> str | None:
    """The title of a plan whose every file is as its list says; None where one is not, or one is too many."""
    try:
        listed = json.loads((plan / MANIFEST).read_bytes())
        for name, digest in listed.items():
            if hashlib.sha256((plan / name).read_bytes()).hexdigest() != digest:
                return None
        there = {p.relative_to(plan).as_posix() for p in plan.rglob("*") if p.is_file()}
        left = [p.name for p in plan.parent.iterdir() if "routecut-" in p.name]
        if there != {*listed, MANIFEST} or left:
            return None
        return str(json.loads((plan / "plan.json").read_bytes())["title"])
    except (OSError, ValueError, KeyError):
        return None


def main() -> int:
    """Run it by hand, and say what was seen."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    asked.add_argument("--records", type=int, default=500)
    asked.add_argument("--plans", type=int, default=500)
    asked.add_argument("--seed", type=int, default=1)
    given = asked.parse_args()
    sound = True
    with tempfile.TemporaryDirectory() as place:
        if given.records:
            found = kill_records(Path(place), given.records, given.seed)
            sound &= found.sound
            sys.stdout.write(
                f"records: {found.kills} kills, {found.accepted} lines accepted, {found.lost} lost, "
                f"{found.torn} torn, {found.unreported} of them unreported\n"
            )
        if given.plans:
            found = kill_plans(Path(place), given.plans, given.seed)
            sound &= found.sound
            sys.stdout.write(
                f"plans: {found.kills} kills ({found.during} while running, {found.gap} between the two renames), "
                f"{found.old} left the old plan, "
                f"{found.new} the new, {found.half_plans} neither\n"
            )
    return int(not sound)


if __name__ == "__main__":
    raise SystemExit(main())
