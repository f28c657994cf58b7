"""The wall with one hole of tests/worlds as a job folder, changed in places."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Final

from tests.cli.conftest import WORLDS

HOLE: Final = """[[pass_through]]
name = "H1"
at = [0.0000, 0.0000, 0.0000]
axis = [1, 0, 0]
diameter = 30
state = "existing"
joins = ["front", "rear"]
"""
CABLE: Final = """[[cable]]
name = "C1"
from = "a.p"
to = "b.p"
type = "thread"
class = "control"
"""


def wall_job(folder: Path, *changes: tuple[str, str], more: str = "") -> Path:
    """The job folder; each first text of `changes` stands in it once at least, `more` comes at its end."""
    folder.mkdir()
    text = (WORLDS / "wall-hole" / "job.toml").read_text(encoding="utf-8").rstrip() + "\n"
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    (folder / "job.toml").write_text(text + more, encoding="utf-8")
    shutil.copy(WORLDS / "wall-hole" / "body.ply", folder)
    return folder


def extra_cables(count: int, diameter: float = 2.0) -> str:
    """Lines for more cables through the wall, each from a port of one box to a port of another."""
    kind = f'name = "extra"\nclass = "control"\ndiameter = {diameter}\nmin_bend_radius = {diameter}'
    lines = [f"[[cable_type]]\n{kind}"]
    for device, x, space in (("x", -6, "front"), ("y", 6, "rear")):
        lines.append(f'[[device]]\nname = "{device}"\nat = [{x}, -900, {-100 * x}]\nspace = "{space}"')
        for k in range(count):
            y, z = -900 + 30 * (k % 60), 500 + 30 * (k // 60)
            lines.append(f'[[device.port]]\nname = "{k}"\nat = [{x}, {y}, {z if x < 0 else -z}]')
    lines += [f'[[cable]]\nname = "D{k}"\nfrom = "x.{k}"\nto = "y.{k}"\ntype = "extra"' for k in range(count)]
    return "\n".join(lines) + "\n"
