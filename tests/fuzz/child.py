"""One process of `python -m tests.fuzz`: feeds a target until its time is up, and counts.

What makes trouble is written down and gone on from; only what ends a process (a crash in compiled
code, too much memory, a hang) ends this one.
"""

from __future__ import annotations

import hashlib
import json
import random
import resource
import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from tests.fuzz.edits import lines_changed

_MOST_BYTES_OF_MEMORY: Final = 2_000_000_000


class Feeder:
    """A target that is counted and watched."""

    def __init__(self, target: Callable[[bytes], str], folder: Path) -> None:
        self.target = target
        self.folder = folder
        self.ended: Counter[str] = Counter()
        self.runs = 0
        self._told = 0.0

    def __call__(self, raw: bytes) -> None:
        """Try one input."""
        self.runs += 1
        try:
            self.ended[self.target(raw)] += 1
        except Exception as error:
            self.ended["trouble"] += 1
            self._keep(raw, error)
        if time.monotonic() - self._told > 1.0 or self.runs < 3:
            self.tell()

    def _keep(self, raw: bytes, error: Exception) -> None:
        """One input for each place that trouble came from, the shortest."""
        last = traceback.extract_tb(error.__traceback__)[-1]
        if type(error).__name__ == "Trouble":
            place = f"{type(error).__name__}:{last.name}"
        else:
            place = f"{type(error).__name__}:{Path(last.filename).name}:{last.lineno}"
        name = place.replace(":", "-") + "-" + hashlib.sha256(place.encode()).hexdigest()[:6]
        path = self.folder / "found" / name
        if not path.exists() or path.stat().st_size > len(raw):
            path.write_bytes(raw)
            said = "".join(traceback.format_exception(error))[-3000:]
            (self.folder / f"{name}.txt").write_text(said, encoding="utf-8")

    def tell(self) -> None:
        """Write down how far it has come."""
        self._told = time.monotonic()
        used = resource.getrusage(resource.RUSAGE_SELF)
        told = {"runs": self.runs, "cpu_s": used.ru_utime + used.ru_stime, "ended": dict(self.ended)}
        new = self.folder / "stats.new"
        new.write_text(json.dumps(told), encoding="utf-8")
        new.replace(self.folder / "stats.json")


def changed(chance: random.Random, seeds: list[bytes], words: tuple[str, ...]) -> bytes:
    """One of the seeds with a few changes, of lines or of bytes."""
    raw = chance.choice(seeds)
    if chance.random() < 0.5:
        return lines_changed(chance, raw, chance.choice(seeds))
    return bytes_changed(chance, raw, seeds, words)


def bytes_changed(chance: random.Random, given: bytes, seeds: list[bytes], words: tuple[str, ...]) -> bytes:
    """Some bytes gone, changed, doubled, from another file, or a word put in."""
    raw = bytearray(given)
    for _ in range(chance.choice((1, 1, 2, 3, 6))):
        place = chance.randrange(len(raw)) if raw else 0
        match chance.randrange(7):
            case 0 if raw:
                raw[place] = chance.choice(
                    (0, 1, 9, 10, 32, 34, 45, 48, 57, 127, 128, 255, chance.randrange(256))
                )
            case 1:
                del raw[place : place + chance.choice((1, 2, 8, 60, 1000))]
            case 2:
                raw[place:place] = chance.randbytes(chance.choice((1, 2, 8)))
            case 3:
                raw[place:place] = chance.choice(words).encode()
            case 4:
                other = chance.choice(seeds)
                begin = chance.randrange(len(other)) if other else 0
                raw[place:place] = other[begin : begin + chance.choice((4, 40, 400))]
            case 5:
                raw[place:place] = raw[place : place + chance.choice((10, 100))] * chance.choice((1, 3, 30))
            case _:
                del raw[place:]
    return bytes(raw)


def _at_random(
    feed: Feeder, seconds: float, seeds: list[bytes], words: tuple[str, ...], *, fresh: bool
) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (4 * _MOST_BYTES_OF_MEMORY, resource.RLIM_INFINITY))
    chance = random.Random(time.time_ns())  # noqa: S311 - no secret; what it finds is written down
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        # of bytes that stand for choices, others altogether are as good as changed ones
        feed(chance.randbytes(4000) if fresh else changed(chance, seeds, words))
    feed.tell()


def main() -> None:
    """``child TARGET FOLDER --seconds N [what libFuzzer is told ...]``."""
    name, folder, _, seconds, *more = sys.argv[1:]
    if not more:
        from tests.fuzz.seeds import WORDS, first
        from tests.fuzz.targets import TARGETS

        _at_random(
            Feeder(TARGETS[name], Path(folder)), float(seconds), first(name), WORDS, fresh=name == "jobs"
        )
        return
    import atheris

    with atheris.instrument_imports(include=["routecut", "tomllib", "trimesh", "collada"]):
        import trimesh  # noqa: F401

        import routecut.survey  # noqa: F401 - with its counters, before anything else reads it
        from tests.fuzz.targets import TARGETS
    feed = Feeder(TARGETS[name], Path(folder))
    argv: list[Any] = [sys.argv[0], f"-max_total_time={seconds}", *more]

    def mutate(data: bytes, most: int, seed: int) -> bytes:
        chance = random.Random(seed)  # noqa: S311 - no secret
        if chance.random() < {"job": 0.7, "mesh": 0.3}.get(name, 0.0):
            return lines_changed(chance, data, data)[:most]
        return bytes(atheris.Mutate(data, most))

    atheris.Setup(argv, feed, custom_mutator=mutate)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
