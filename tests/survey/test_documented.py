"""The page on the job file names every key that the reader knows, and every default it gives."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

import routecut.survey
from routecut.model.job import Drilling, LengthPractice, Routing
from routecut.survey import load_job
from routecut.survey.read_room import DEFAULT_CLEARANCE_M
from routecut.tables import cable_types
from routecut.units import from_m

PAGE = (Path(__file__).parents[2] / "docs" / "job-format.md").read_text(encoding="utf-8")
READERS = ("job_reader", "read_equipment", "read_vehicle", "read_room", "read_fitout", "positions")
# Methods of the field reader whose first argument is a key.
METHODS = {
    "text", "name", "one_of", "word", "flag", "number", "optional_number", "optional_count", "length",
    "optional_length", "texts", "lengths", "point", "direction", "child", "children", "has", "require",
}  # fmt: skip


def keys_read() -> set[str]:
    found = set()
    for module in READERS:
        source = (Path(routecut.survey.__file__).parent / f"{module}.py").read_text(encoding="utf-8")
        for node in ast.walk(ast.parse(source)):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Attribute)
                and node.func.attr in METHODS
            ):
                first = node.args[0] if node.args else None
                if isinstance(first, ast.Constant) and isinstance(first.value, str):
                    found.add(first.value)
    return found


def test_every_key_is_on_the_page() -> None:
    keys = keys_read()
    assert len(keys) > 80  # the search itself works
    missing = sorted(key for key in keys if not re.search(rf"\b{key}\b", PAGE))
    assert missing == []


@pytest.mark.parametrize(
    ("key", "default_mm"),
    [
        ("stand_off", Routing().stand_off_m),
        ("bridge", Routing().bridge_m),
        ("node_spacing", Routing().node_spacing_m),
        ("round_up_to", LengthPractice().round_up_to_m),
        ("drip_loop", LengthPractice().drip_loop_m),
        ("hinge_loop", LengthPractice().hinge_loop_m),
        ("hole_cost", Drilling().hole_cost_m),
        ("behind", Drilling().behind_m),
    ],
)
def test_defaults_on_the_page_are_the_real_ones(key: str, default_mm: float) -> None:
    row = next(line for line in PAGE.splitlines() if f"| `{key}` |" in line)
    assert f"| {from_m(default_mm, 'mm'):g} mm" in row


def test_default_clearances_on_the_page_are_the_real_ones() -> None:
    for reason, clearance in DEFAULT_CLEARANCE_M.items():
        assert re.search(rf"`{reason}`\s+{from_m(clearance, 'mm'):g} mm", PAGE)


def test_every_catalogue_name_is_on_the_page() -> None:
    for name in cable_types():
        gauge = re.fullmatch(r"wire-(.*)(?:awg|mm2)-(red|black)", name)
        assert gauge[1] in PAGE if gauge else f"`{name}`" in PAGE


def test_the_smallest_job_on_the_page_can_be_read(tmp_path: Path) -> None:
    first = re.search(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    assert first is not None
    (tmp_path / "job.toml").write_text(first[1], encoding="utf-8")
    job, findings = load_job(tmp_path)
    assert job is not None
    assert findings == ()
