"""The keys of the job file as its reader knows them: what it asks of each table, noted while it reads.

Two jobs are read. In the one every key is given, so that the reader meets all of them; in the other
every table is there and empty, which shows what is required, and what is taken where nothing is said.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

from routecut.survey import job_reader
from routecut.survey.toml_fields import FARTHEST_M, Fields
from routecut.units import from_m

EVERY_KEY = (Path(__file__).parent / "every_key.toml").read_text(encoding="utf-8")
EMPTY = """
[vehicle]
tape_check = [{}]
section = [{}]
[[surface]]
[[space]]
[[keep_out]]
[[keep_out]]
capsule = {}
[[keep_out]]
sphere = {}
[[noise_source]]
[[hinge]]
[[landmark]]
[[opening]]
[[pass_through]]
[[device]]
[[device.port]]
[[cable]]
load = {}
signal = {}
measured = [{}]
[[cable_type]]
[[stock]]
[routing]
[rules]
[lengths]
[drilling]
[service]
"""
NAMED = {
    "box": "`[[x, y, z], [x, y, z]]`, the low and the high corner",
    "boxes": "a list of boxes",
    "seed": "`[x, y, z]`",
    "at": "[a position](job-format.md#units-axes-positions)",
    "from": "[a position](job-format.md#units-axes-positions)",
    "to": "[a position](job-format.md#units-axes-positions)",
    "line": "a list of positions",
    "attenuation": "a list of `[MHz, dB per 100 m]`, rising",
    "power_rating": "a list of `[MHz, W]`, falling",
    "tape": "a table: landmark = distance",
    "capsule": "a table, below",
    "sphere": "a table, below",
    "port": "tables, below",
    "tape_check": "tables, below",
    "section": "tables, below",
    "load": "a table, below",
    "signal": "a table, below",
    "measured": "a list of tables, below",
    "metre_cost": "a table: class = number, up to 100",
}
"""What is read piece by piece, with no one call that says what is wanted."""

DEFAULTS = {
    ("", "title"): "the folder's name",
    ("[[space]]", "seed"): "the middle of the first box",
    ("[[keep_out]]", "clearance"): "by reason",
    ("[[cable]]", "class"): "the type's",
    ("[[cable_type]]", "min_bend_radius"): "10 x diameter",
    ("[[pass_through]]", "grommet"): "true if existing",
    ("[[cable]]", "surplus"): "by class",
    ("[[cable]]", "polarity"): "by name",
    ("[lengths]", "lay_error_percent"): "a third of lay_percent",
    ("[drilling]", "metre_cost"): "1 each",
    ("[[cable]], load", "peak_amps"): "amps",
    ("[[cable]], load", "max_drop_percent"): "by the rules",
    ("[[cable]], signal", "max_loss_db"): "by the rules",
    ("[[device]]", "facing"): "the catalogue's",
    ("[[device]]", "kind"): "the equipment's, or none",
    ("[[device]]", "serviceable"): "the equipment's, or false",
    ("[rules]", "profile"): "`common practice`",
}
"""What stands in where the reader has no figure for it, but works it out."""

EITHER = {
    ("[[space]]", "box"): "one of box, boxes",
    ("[[space]]", "boxes"): "one of box, boxes",
    **{("[[keep_out]]", key): "one of the four shapes" for key in ("box", "capsule", "sphere", "part")},
    ("[[cable]]", "type"): "required without class",
    **{("[[vehicle.tape_check]]", key): "of, or from and to" for key in ("of", "from", "to")},
    ("[[stock]]", "lengths"): "one of lengths, reel",
    ("[[stock]]", "reel"): "one of lengths, reel",
}
"""Keys one of which is wanted."""


@dataclass(slots=True)
class Key:
    """One key of one table."""

    wanted: str = ""
    default: str = "none"
    required: bool = False


Keys = dict[tuple[str, str], Key]


def _table(label: str) -> str:
    """The table without the name or number of the entry."""
    return re.sub(r'(\]\]|measured) (?:"[^"]*"|number \d+)', r"\1", label)


def _figure(value_m: float) -> str:
    return f"{from_m(value_m, 'mm'):g} mm"


def _limits(low: float, high: float, farthest: float, *, above: bool, unit: str) -> str:
    least = f"above {low:g}" if above else f"from {low:g}" if low else "0 or more"
    most = "" if high >= farthest else f" to {high:g}" if not above else f", up to {high:g}"
    if not above and not low and most:
        least = "0"
    return f"{least}{most}{' ' + unit if unit and (most or low) else ''}"


def _said(method: str, given: dict[str, Any]) -> tuple[str, str]:
    """What a call of the reader wants, and what it takes where nothing is given."""
    default = given.get("default", given.get("default_m"))
    if method in {"length", "optional_length"}:
        low, high = (from_m(given.get(k, d), "mm") for k, d in (("low_m", 0.0), ("high_m", FARTHEST_M)))
        limits = _limits(low, high, from_m(FARTHEST_M, "mm"), above=given["above"], unit="mm")
        return f"a length, {limits}", "" if default is None else _figure(default)
    if method in {"number", "optional_number"}:
        what = given["what"]
        what = f" {what}" if what.startswith("of ") else f" in {what}" if what else ""
        limits = _limits(given["low"], given["high"], 1e9, above=given["above"], unit="")
        return f"a number{what}, {limits}", "" if default is None else f"{default:g}"
    if method == "one_of":
        return ", ".join(f"`{word}`" for word in given["allowed"]), "" if default is None else f"`{default}`"
    if method == "flag":
        return "`true` or `false`", "true" if default else "false"
    if method == "texts":
        words = given["allowed"]
        what = "a list of " + (", ".join(f"`{word}`" for word in words) if words else "names")
        return what, ", ".join(f"`{word}`" for word in default) if default else "none"
    plain = {
        "text": "a text",
        "name": "a name",
        "optional_count": "a whole number, 0 or more",
        "lengths": "a list of lengths, above 0",
        "point": "`[x, y, z]`",
        "direction": "three numbers, a direction",
    }[method]
    if method == "point" and default is not None:
        return plain, "`[0, 0, 0]`"
    return plain, f"{default}" if default else "none"


METHODS = (
    "text", "name", "one_of", "flag", "number", "optional_number", "optional_count", "length", "optional_length",
    "texts", "lengths", "point", "direction",
)  # fmt: skip


@contextmanager
def _noting(keys: Keys) -> Iterator[None]:
    """Everything that is asked of a table while a job is read goes into `keys`."""

    def wrapped(method: str) -> Any:
        original = getattr(Fields, method)
        signature = inspect.signature(original)

        def call(self: Fields, *args: Any, **options: Any) -> Any:
            given = signature.bind(self, *args, **options)
            given.apply_defaults()
            key = keys.setdefault((_table(self.table), given.arguments["key"]), Key())
            value = original(self, *args, **options)
            key.wanted, key.default = _said(method, given.arguments)  # last the outermost of nested calls
            return value

        return call

    def noted(method: str) -> Any:
        original = getattr(Fields, method)

        def call(self: Fields, key: str, *args: Any, **options: Any) -> Any:
            keys.setdefault((_table(self.table), key), Key())
            return original(self, key, *args, **options)

        return call

    patches = [patch.object(Fields, m, wrapped(m)) for m in METHODS]
    patches += [patch.object(Fields, m, noted(m)) for m in ("has", "take", "child", "children", "require")]
    for one in patches:
        one.start()
    try:
        yield
    finally:
        for one in patches:
            one.stop()


def job_keys() -> Keys:
    """Every key of every table, in the order in which the reader asks for them."""
    keys, bare = Keys(), Keys()
    with _noting(keys):
        job_reader.job_from(EVERY_KEY.encode(), Path("nowhere"))
    with _noting(bare):
        _, findings = job_reader.job_from(EMPTY.encode(), Path("nowhere"))
    missing = {(_table(f.table), f.key) for f in findings if f.code == "missing-key"}
    for place, key in keys.items():
        table, name = place
        key.required = place in missing
        seen = bare.get(place)
        if seen is None or not seen.wanted:
            key.default = "none"  # asked for only where it is given
        key.default = DEFAULTS.get(place, key.default or "none")
        key.wanted = key.wanted or NAMED.get(name, "")
        if name in {"from", "to"} and table != "[[keep_out]], capsule":
            key.wanted = "a name"
    return keys


WORKED_OUT = re.compile(r"\[\[\w+\]\], at|metre_cost$")
"""Tables inside that are explained where positions and costs are."""


def job_keys_page(note: str) -> str:
    """docs/job-keys.md."""
    lines = [
        "# Every key of the job file\n",
        note,
        "What the reader knows, table by table, made from the reader itself. What each key is for stands in [the job",
        "file](job-format.md). Lengths and their limits are printed in mm here; in a job they are numbers in its",
        '`length_unit`, or texts with a unit of their own: `"3/8 in"`. **Required**: a job without it is not planned.',
    ]
    tables: dict[str, list[str]] = {}
    for (where, name), key in job_keys().items():
        inner = not where and key.wanted == ""
        if inner or WORKED_OUT.search(where) or (where == "[rules]" and name != "profile"):
            continue
        without = EITHER.get((where, name)) or ("**required**" if key.required else key.default)
        tables.setdefault(where, []).append(f"| `{name}` | {key.wanted} | {without} |")
    tables["[rules]"].append("| any limit | a number, in the range of [its list](rules.md) | the profile's |")
    for where, rows in tables.items():
        lines += [f"\n## {_heading(where)}\n", "| key | value | without it |", "| --- | --- | --- |", *rows]
    return "\n".join(lines) + "\n"


def _heading(where: str) -> str:
    """`[[cable]], load` as it is written in a job."""
    if not where:
        return "Top level"
    outer, _, inner = where.partition(", ")
    if inner.startswith("["):
        return f"`{inner}`"
    return f"`{outer}`" + (
        f", `{inner} = {'[{ .. }]' if inner == 'measured' else '{ .. }'}`" if inner else ""
    )
