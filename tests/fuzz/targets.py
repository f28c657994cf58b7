"""The doors that strangers' files come through, each as a function of bytes that may only end well.

A file is well taken when it is read into something sound, or refused by findings that say why. All
else is `Trouble`: a traceback, a warning of some library, a body of no numbers, a message that runs
on or could act on a terminal, a file written, too much time.
"""

from __future__ import annotations

import atexit
import contextlib
import io
import json
import os
import shutil
import struct
import tempfile
import time
import zipfile
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Final

import numpy as np

from routecut.model.body import Body
from routecut.model.codes import CODES
from routecut.model.finding import Finding, Severity
from routecut.model.job import Job
from routecut.survey import load_job, read_body, resolve
from tests.fuzz.edits import edited

MOST_SECONDS: Final = 10.0
"""Of processor time: on a machine with other work to do the clock says nothing of the program."""
MOST_SECONDS_TO_PLAN: Final = 60.0
LONGEST_MESSAGE: Final = 4000

MESH_KINDS: Final = ("obj", "ply", "stl", "off", "dae", "glb", "3mf", "glb text", "3mf text")
"""What the first byte of an input to `mesh` chooses; of the last two the rest is what is packed."""

_JOB: Final = """
length_unit = "mm"
[vehicle]
mesh = "{mesh}"
mesh_unit = "{unit}"
axes = "+x rear, +y right, +z up"
[[surface]]
part = "*"
kind = "panel"
"""

_BOX: Final = """o box
v 0 -0.8 0\nv 4 -0.8 0\nv 4 0.8 0\nv 0 0.8 0\nv 0 -0.8 1.5\nv 4 -0.8 1.5\nv 4 0.8 1.5\nv 0 0.8 1.5
f 1 2 3 4\nf 5 6 7 8\nf 1 2 6 5\nf 2 3 7 6\nf 3 4 8 7\nf 4 1 5 8
"""


class Trouble(AssertionError):  # noqa: N818 - it is what it is called
    """A door did something with an input that it may never do."""


def job(raw: bytes) -> str:
    """The job reader, and what fits a job to its mesh, on one ``job.toml``; how it ended."""
    folder = _folder()
    (folder / "job.toml").write_bytes(raw)
    began = time.process_time()
    with _quiet():
        read, findings = load_job(folder)
    _judge(findings, refused=read is None)
    told: Iterable[Finding] = findings
    if read is not None and read.vehicle.mesh in {"body.obj", "body.ply"}:
        with _quiet():
            fitted, _, more = resolve(read, _box())
        told = (*findings, *more)
        _judge(more, refused=False)
        _check_job(fitted)
    _in_time(began)
    _nothing_written(folder)
    return "refused" if any(f.severity is Severity.ERROR for f in told) else "read"


def mesh(raw: bytes) -> str:
    """The mesh door on one file whose kind the first byte chooses; how it ended."""
    kind = MESH_KINDS[raw[0] % len(MESH_KINDS)] if raw else MESH_KINDS[0]
    return mesh_of(kind, raw[1:])


def mesh_of(kind: str, raw: bytes) -> str:
    """The mesh door on one file of a kind; how it ended."""
    if kind == "glb text":
        raw = packed_glb(raw)
    elif kind == "3mf text":
        raw = packed_3mf(raw)
    ending = kind.split(" ", maxsplit=1)[0]
    folder = _folder()
    name = f"body.{ending}"
    (folder / name).write_bytes(raw)
    began = time.process_time()
    with _quiet():
        body, findings = read_body(_reader_of(ending, folder))
    _in_time(began)
    (folder / name).unlink()
    _nothing_written(folder)
    _judge(findings, refused=body is None)
    if body is not None:
        _check_body(body)
    return "refused" if body is None else "read"


def edits(raw: bytes) -> str:
    """As `job`, on a job that uses every key, changed as the bytes say: most stay readable TOML."""
    return job(edited(raw))


def jobs(raw: bytes) -> str:
    """Whole jobs as hypothesis makes them up, from check to job pack; how it ended."""
    from tests.fuzz.whole import WrongError, whole

    began = time.process_time()
    try:
        with _quiet():
            ended = whole(raw)
    except WrongError as wrong:
        raise Trouble(str(wrong)) from wrong
    took = time.process_time() - began
    if took > MOST_SECONDS_TO_PLAN:
        raise Trouble(f"took {took:.1f} s")
    return ended


TARGETS: Final[dict[str, Callable[[bytes], str]]] = {"job": job, "edits": edits, "mesh": mesh, "jobs": jobs}


# --- packing, so that an input need not get lengths and sums right to be looked into --------


def packed_glb(text: bytes) -> bytes:
    """A GLB of a description and a fixed lump of data: three points, then three corners."""
    binary = np.array([[0, 0, 0], [2, 0, 0], [0, 2, 1]], dtype="<f4").tobytes()
    binary += np.array([0, 1, 2], dtype="<u4").tobytes()
    text += b" " * (-len(text) % 4)
    head = struct.pack("<4sIIII", b"glTF", 2, 28 + len(text) + len(binary), len(text), 0x4E4F534A)
    return head + text + struct.pack("<II", len(binary), 0x004E4942) + binary


def packed_3mf(text: bytes) -> bytes:
    """A 3MF package round a model."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("3D/3dmodel.model", text)
    return packed.getvalue()


# --- what is asked of every answer ----------------------------------------------------------


def _judge(findings: Iterable[Finding], *, refused: bool) -> None:
    found = tuple(findings)
    if refused and not any(f.severity is Severity.ERROR for f in found):
        raise Trouble("refused without a word")
    for finding in found:
        if finding.code not in CODES:
            raise Trouble(f"no such code: {finding.code}")
        if not finding.message.strip() or len(finding.message) > LONGEST_MESSAGE:
            raise Trouble(f"a message of {len(finding.message)} letters")
    json.dumps([vars_of(f) for f in found]).encode()


def vars_of(finding: Finding) -> dict[str, str]:
    """A finding as programs get it; every part is a text."""
    parts = {name: getattr(finding, name) for name in finding.__slots__}
    if not all(isinstance(part, str) for part in parts.values()):
        raise Trouble("a part of a finding is no text")
    return parts


def _check_job(read: Job) -> None:
    names = [thing.name for things in (read.spaces, read.devices, read.cables) for thing in things]
    if not all(name and name.isprintable() for name in names):
        raise Trouble("a name that can't be printed")
    places = [d.position.at_m for d in read.devices] + [h.position.at_m for h in read.pass_throughs]
    if not np.isfinite(np.array(places, dtype=float)).all():
        raise Trouble("a place that is no number")


def _check_body(body: Body) -> None:
    if not len(body.faces) or not np.isfinite(body.vertices_m).all():
        raise Trouble("a body of no numbers")
    if body.faces.min() < 0 or body.faces.max() >= len(body.vertices_m):
        raise Trouble("a face of no points")
    if len(body.face_part) != len(body.faces) or body.face_part.max() >= len(body.parts):
        raise Trouble("a face of no part")
    if not all(name.isprintable() for name in body.parts):
        raise Trouble("a part whose name can't be printed")


def _in_time(began: float) -> None:
    took = time.process_time() - began
    if took > MOST_SECONDS:
        raise Trouble(f"took {took:.1f} s")


def _nothing_written(folder: Path) -> None:
    there = {path.name for path in folder.iterdir()} - {"job.toml", "body.obj"}
    if there:
        raise Trouble(f"wrote {sorted(there)}")


@contextlib.contextmanager
def _quiet() -> Iterator[None]:
    """Nothing may be printed by what reads."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        yield
    if out.getvalue() or err.getvalue():
        raise Trouble(f"printed {(out.getvalue() + err.getvalue())[:80]!r}")


# --- made once ------------------------------------------------------------------------------


@cache
def _folder_of(process: int) -> Path:
    folder = Path(tempfile.mkdtemp(prefix=f"routecut-fuzz-{process}-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    (folder / "body.obj").write_text(_BOX, encoding="utf-8")
    return folder


def _folder() -> Path:
    return _folder_of(os.getpid())


@cache
def _reader_of(ending: str, folder: Path) -> Job:
    with tempfile.TemporaryDirectory() as place:
        (Path(place) / f"body.{ending}").write_bytes(b"")
        text = _JOB.format(mesh=f"body.{ending}", unit="m")
        (Path(place) / "job.toml").write_text(text, encoding="utf-8")
        read, findings = load_job(place)
    assert read is not None, findings
    return _elsewhere(read, folder)


def _elsewhere(read: Job, folder: Path) -> Job:
    from dataclasses import replace

    return replace(read, folder=folder)


@cache
def _box() -> Body:
    with tempfile.TemporaryDirectory() as place:
        (Path(place) / "job.toml").write_text(_JOB.format(mesh="body.obj", unit="m"), encoding="utf-8")
        (Path(place) / "body.obj").write_text(_BOX, encoding="utf-8")
        read, findings = load_job(place)
        assert read is not None, findings
        body, findings = read_body(read)
    assert body is not None, findings
    return body
