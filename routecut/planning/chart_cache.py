"""Charts of vehicles planned before, in the user's cache folder.

Stage      planning, round the roadmap
Safe side  filed by a digest of all a chart is made from: triangles, parts, spaces, routing figures and
           the program itself, so that a stale one is never found. What is found is checked against
           a digest of its own; a torn, changed or foreign file is no file. A cache that can't be read
           or written is no reason not to plan

The folder is ``routecut/charts`` in the user's cache folder (``XDG_CACHE_HOME``, as the XDG Base Directory
Specification 0.8 has it). The environment variable ``ROUTECUT_CACHE`` names another folder, or is ``off``.
"""

from __future__ import annotations

import hashlib
import io
import os
import tempfile
import zipfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Final

import numpy as np

import routecut
from routecut.model.body import Body
from routecut.model.job import Job
from routecut.roadmap.build import Chart, Roadmap, build_roadmap, made_of
from routecut.roadmap.connect import Hops
from routecut.roadmap.sample import Nodes

VARIABLE: Final = "ROUTECUT_CACHE"
OFF: Final = "off"

MOST_BYTES: Final = 500_000_000
"""Of all charts together; those not used for longest go first."""

_MADE_BY: Final = ("errors.py", "geometry", "model", "roadmap")
_DIGEST: Final = "digest"


def folder() -> Path | None:
    """Where charts are kept; None when they are not to be."""
    told = os.environ.get(VARIABLE, "")
    if told.strip().lower() == OFF:
        return None
    if told.strip():
        return Path(told).expanduser()
    base = os.environ.get("XDG_CACHE_HOME", "")
    if not Path(base).is_absolute():  # one that is not is to be ignored, says the specification
        try:
            base = str(Path.home() / ".cache")
        except RuntimeError:
            return None
    return Path(base) / "routecut" / "charts"


def ready_roadmap(job: Job, body: Body, progress: Callable[[str], None] | None = None) -> Roadmap:
    """The roadmap of a job, its chart from the cache if it is there."""
    where = folder()
    if where is None:
        return build_roadmap(job, body, progress)
    path = where / f"{key_of(job, body)}.npz"
    chart = load(path)
    roadmap = build_roadmap(job, body, progress, chart=chart)
    if chart is None:
        save(path, Chart(roadmap.nodes, roadmap.hops, roadmap.label))
    return roadmap


def key_of(job: Job, body: Body) -> str:
    """A digest of all that a chart is made from."""
    digest = hashlib.sha256(_program())
    for array in (body.vertices_m, body.faces, body.face_part, body.routing_triangles_m):
        digest.update(f"{array.dtype.str} {array.shape}".encode())
        digest.update(np.ascontiguousarray(array).tobytes())
    digest.update(repr((body.rules, made_of(job))).encode())
    return digest.hexdigest()


def _program() -> bytes:
    """A digest of the source that makes charts, and of the versions of what it calls."""
    digest = hashlib.sha256(f"{routecut.__version__} {np.__version__}".encode())
    here = Path(routecut.__file__).parent
    for name in _MADE_BY:
        top = here / name
        for path in sorted(top.rglob("*.py")) if top.is_dir() else [top]:
            digest.update(path.read_bytes())
    return digest.digest()


def _arrays(chart: Chart) -> dict[str, np.ndarray]:
    nodes, hops = chart.nodes, chart.hops
    return {
        "at_m": nodes.at_m,
        "away": nodes.away,
        "face": nodes.face,
        "a": hops.a,
        "b": hops.b,
        "length_m": hops.length_m,
        "supported": hops.supported,
        "label": chart.label,
    }


def _digest(arrays: dict[str, np.ndarray], name: str) -> np.ndarray:
    digest = hashlib.sha256(name.encode())
    for key in sorted(arrays):
        digest.update(f"{key} {arrays[key].dtype.str} {arrays[key].shape}".encode())
        digest.update(np.ascontiguousarray(arrays[key]).tobytes())
    return np.frombuffer(digest.digest(), dtype=np.uint8)


def load(path: Path) -> Chart | None:
    """The chart in a file; None when there is none, or not exactly what was written."""
    try:
        with np.load(io.BytesIO(path.read_bytes()), allow_pickle=False) as file:
            found = {name: file[name] for name in file.files}
        stated = found.pop(_DIGEST)
        if not np.array_equal(stated, _digest(found, path.stem)):
            return None
        nodes = Nodes(found["at_m"], found["away"], found["face"])
        hops = Hops(found["a"], found["b"], found["length_m"], found["supported"])
        chart = Chart(nodes, hops, found["label"])
    except (OSError, ValueError, KeyError, EOFError, MemoryError, NotImplementedError, zipfile.BadZipFile):
        return None
    with suppress(OSError):
        os.utime(path)  # used now: the others go first
    return chart


def save(path: Path, chart: Chart) -> None:
    """Write a chart whole or not at all, and make room for it."""
    arrays = _arrays(chart)
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                np.savez(file, **arrays, digest=_digest(arrays, path.stem))  # type: ignore[arg-type]
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
        _make_room(path.parent, path)


def _make_room(where: Path, newest: Path) -> None:
    files = sorted((f for f in where.glob("*.npz") if f != newest), key=lambda f: f.stat().st_mtime)
    total = newest.stat().st_size + sum(f.stat().st_size for f in files)
    for file in files:
        if total <= MOST_BYTES:
            break
        total -= file.stat().st_size
        file.unlink()
