"""Reads the vehicle, its surfaces and the shop's practice from the job.

Stage      survey
Units      m; shares as fractions, whatever the job writes in per cent
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Final

from routecut.errors import OutOfRangeError
from routecut.model.job import (
    Box,
    CableClass,
    Drilling,
    LengthPractice,
    Routing,
    Rules,
    Section,
    ServicePractice,
    SurfaceKind,
    SurfaceRule,
    TapeCheck,
    Vec3,
    Vehicle,
)
from routecut.model.sizing import Limit
from routecut.model.vehicle import WHOLE
from routecut.plain import nearest_name, shown
from routecut.survey.axes import ALLOWED, DIRECTIONS, parse_axes
from routecut.survey.read_room import read_box
from routecut.survey.toml_fields import Fields
from routecut.tables import limits_in_force, profile_limits, profiles
from routecut.units import UNIT_NAMES

DEFAULT_SCAN_ERROR_PERCENT: Final = 0.5
"""Taken when the job says nothing: a body nobody vouches for is treated as a scan."""
DEFAULT_POINT_ERROR_M: Final = 0.005

COOLEST_METRIC_C: Final = 105.0
"""What the insulation of the wires by mm2 stands, by their data sheet. [degrees C]"""

AXES: Final = ("x", "y", "z")

_CLASSES: Final = tuple(c.value for c in CableClass)

_UNTURNED: Final[tuple[Vec3, Vec3, Vec3]] = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def path_inside(folder: Path, written: str) -> bool:
    """Whether a path of the job stays in its folder, symbolic links followed."""
    if (
        not written
        or "\0" in written
        or PurePosixPath(written).is_absolute()
        or PureWindowsPath(written).drive
    ):
        return False
    if ".." in PurePosixPath(written).parts or "\\" in written:
        return False
    try:
        home = folder.resolve()
        return (home / written).resolve().is_relative_to(home)
    except (OSError, RuntimeError):  # a ring of links
        return False


def read_vehicle(fields: Fields, folder: Path) -> Vehicle:
    """The ``[vehicle]`` table; use it only when `fields.sound`."""
    mesh = fields.text("mesh") if fields.has("mesh") else ""
    if not fields.has("mesh"):
        fields.require("mesh", "the mesh file's path in the job folder")
    elif isinstance(fields.data["mesh"], str) and not path_inside(folder, mesh):
        fields.fault(
            "path-outside",
            "mesh",
            f"mesh is {shown(mesh)}, which is empty or not inside the job folder.",
            found=mesh,
            allowed="a relative path with forward slashes that stays in the job folder",
        )
    axes_text = fields.text("axes") if fields.has("axes") else ""
    axes = _UNTURNED
    if not fields.has("axes"):
        fields.require("axes", ALLOWED)
    elif axes_text:
        try:
            axes = parse_axes(axes_text)
        except OutOfRangeError as error:
            wrong = [word for word in axes_text.replace(",", " ").split() if word.isalpha() and len(word) > 1]
            bad = next((word for word in wrong if word.lower() not in DIRECTIONS), "")
            fields.fault(
                "not-allowed",
                "axes",
                f"axes is {shown(axes_text)}: {error}.",
                found=axes_text,
                allowed=ALLOWED,
                nearest=nearest_name(bad, DIRECTIONS) if bad else "",
            )
    elif isinstance(fields.data["axes"], str):
        fields.fault("not-allowed", "axes", "axes is empty.", allowed=ALLOWED)
    vehicle = Vehicle(
        mesh=mesh,
        mesh_unit=fields.one_of("mesh_unit", UNIT_NAMES),
        axes=axes,
        axes_text=axes_text,
        scan_error=fields.number("scan_error_percent", DEFAULT_SCAN_ERROR_PERCENT, high=20.0, what="per cent")
        / 100,
        point_error_m=fields.length("point_error", DEFAULT_POINT_ERROR_M, high_m=0.5),
        rescale=fields.flag("rescale"),
        tape_checks=tuple(_tape_checks(fields)),
        sections=tuple(_sections(fields)),
    )
    between = [check for check in vehicle.tape_checks if not check.of]
    if vehicle.rescale and not between and (vehicle.tape_checks or not fields.has("tape_check")):
        fields.fault(
            "missing-key",
            "tape_check",
            "rescale is asked for, but there is no [[vehicle.tape_check]] between two landmarks to rescale by.",
            allowed="one or more [[vehicle.tape_check]] with from and to",
        )
    fields.finish()
    return vehicle


def _tape_checks(fields: Fields) -> list[TapeCheck]:
    checks = []
    for entry in fields.children("tape_check", "[[vehicle.tape_check]]"):
        whole = entry.has("of")
        if whole and (entry.has("from") or entry.has("to")):
            entry.fault("not-allowed", "of", "A tape check has of, or from and to, not both.")
        check = TapeCheck(
            of=entry.one_of("of", tuple(WHOLE)) if whole else "",
            from_landmark="" if whole else entry.name("from"),
            to_landmark="" if whole else entry.name("to"),
            distance_m=entry.length("distance", above=True),
        )
        if check.from_landmark and check.from_landmark == check.to_landmark:
            entry.fault("not-allowed", "to", "from and to are the same landmark.", found=check.to_landmark)
        entry.finish()
        checks.append(check)
    return checks


def _sections(fields: Fields) -> list[Section]:
    sections = []
    for entry in fields.children("section", "[[vehicle.section]]"):
        box: Box | None = None
        if entry.has("box"):
            box = read_box(entry, "box", entry.take("box"))
        else:
            entry.require("box", "[[x, y, z], [x, y, z]]: where it holds, the low and the high corner")
        sections.append(
            Section(
                name=entry.name(),
                axis=AXES.index(entry.one_of("along", AXES)),
                low_m=box.low_m if box is not None else _UNTURNED[0],
                high_m=box.high_m if box is not None else _UNTURNED[0],
                error_m=entry.length("error", high_m=5.0),
                measured=entry.flag("measured"),
                measure=entry.text("measure", ""),
            )
        )
        entry.finish()
    named = [section.name for section in sections if section.name]
    for name in sorted({name for name in named if named.count(name) > 1}):
        fields.fault(
            "duplicate-name", "section", f"More than one [[vehicle.section]] is called {name!r}.", found=name
        )
    return sections


def read_surface(fields: Fields) -> SurfaceRule:
    """One ``[[surface]]``."""
    rule = SurfaceRule(
        part=fields.name("part"),
        kind=fields.word("kind", SurfaceKind),
        material=fields.text("material", ""),
        thickness_m=fields.length("thickness", 0.0, high_m=0.1),
        drill=fields.flag("drill"),
        removal_minutes=fields.number("removal_minutes", 0.0, high=10_000.0, what="minutes"),
        after=fields.texts("after"),
    )
    if rule.after and rule.kind is not SurfaceKind.TRIM and fields.sound:
        fields.fault(
            "not-allowed",
            "after",
            f"after is given, but only trim comes off, not {rule.kind}.",
            found=", ".join(rule.after),
            allowed="after with kind trim only",
        )
    if rule.drill and rule.kind is not SurfaceKind.PANEL and fields.sound:
        fields.fault(
            "not-allowed",
            "drill",
            f"drill is true, but only a panel is drilled, not {rule.kind}.",
            found=True,
            allowed="false",
        )
    fields.finish()
    return rule


def read_routing(fields: Fields) -> Routing:
    """The ``[routing]`` table."""
    default = Routing()
    routing = Routing(
        stand_off_m=fields.length("stand_off", default.stand_off_m, high_m=0.2, above=True),
        bridge_m=fields.length("bridge", default.bridge_m, high_m=5.0),
        node_spacing_m=fields.length("node_spacing", default.node_spacing_m, low_m=0.005, high_m=1.0),
    )
    fields.finish()
    return routing


def read_rules(fields: Fields) -> Rules:
    """The ``[rules]`` table: a profile, and any of its limits set as a plain number."""
    profile = Rules().profile
    if fields.has("profile"):
        written = fields.name("profile")
        if written in profiles():
            profile = written
        elif written:
            fields.fault(
                "unknown-name",
                "profile",
                f"There is no rule profile {shown(written)}.",
                found=written,
                allowed=", ".join(profiles()),
                nearest=nearest_name(written, profiles()),
            )
    limits = tuple(
        (limit.name, fields.number(limit.name, low=limit.lowest, high=limit.highest, what=limit.unit))
        for limit in profile_limits(profile).values()
        if fields.has(limit.name)
    )
    if fields.sound:
        _check_air(fields, limits_in_force(profile, limits))
    fields.finish()
    return Rules(profile=profile, limits=limits)


def _check_air(fields: Fields, limits: Mapping[str, Limit]) -> None:
    """Air must be cooler than what every wire's insulation stands, or nothing can be carried."""
    stands = min(limits["insulation_c"].value, COOLEST_METRIC_C)
    for name in ("ambient_c", "hot_space_c"):
        if limits[name].value >= stands:
            key = name if limits[name].deviation else "insulation_c"
            fields.fault(
                "out-of-range",
                key,
                f"{name} is {limits[name].value:g} degrees C; the insulation of a wire stands {stands:g}.",
                found=f"{limits[key].value:g}",
                allowed="air cooler than the insulation stands",
            )


def read_lengths(fields: Fields, default: LengthPractice) -> LengthPractice:
    """The ``[lengths]`` table, over what stands where it says nothing."""
    practice = LengthPractice(
        lay=fields.number("lay_percent", default.lay * 100, high=50.0, what="per cent") / 100,
        confidence=fields.number("confidence", default.confidence, low=0.5, high=0.9999),
        round_up_to_m=fields.length("round_up_to", default.round_up_to_m, low_m=0.001, high_m=1.0),
        drip_loop_m=fields.length("drip_loop", default.drip_loop_m, high_m=2.0),
        hinge_loop_m=fields.length("hinge_loop", default.hinge_loop_m, high_m=2.0),
        lay_error=_share(fields, "lay_error_percent", 25.0)
        if fields.has("lay_error_percent")
        else default.lay_error,
        defaults=default.defaults,
        cut_loss_m=fields.length("cut_loss", default.cut_loss_m, high_m=0.5),
        end_waste_m=fields.length("end_waste", default.end_waste_m, high_m=10.0),
        useful_offcut_m=fields.length("useful_offcut", default.useful_offcut_m, high_m=1000.0),
    )
    fields.finish()
    return practice


def read_service(fields: Fields) -> ServicePractice:
    """The ``[service]`` table."""
    default = ServicePractice()
    practice = ServicePractice(
        minutes=fields.number("minutes", default.minutes, high=10_000.0, what="minutes"),
        loop_m=fields.length("loop", default.loop_m, high_m=10.0),
    )
    fields.finish()
    return practice


def _share(fields: Fields, key: str, high: float) -> float | None:
    """A share written in per cent, or None where the job says nothing."""
    return fields.number(key, 0.0, high=high, what="per cent") / 100 if fields.has(key) else None


def _metre_cost(fields: Fields) -> tuple[tuple[str, float], ...]:
    costs = fields.child("metre_cost")
    if costs is None:
        return ()
    found = [(word, costs.number(word, 1.0, high=100.0)) for word in _CLASSES if costs.has(word)]
    costs.finish()
    return tuple(found)


def read_drilling(fields: Fields) -> Drilling:
    """The ``[drilling]`` table."""
    default = Drilling()
    drilling = Drilling(
        hole_cost_m=fields.length("hole_cost", default.hole_cost_m),
        edge_distance_diameters=fields.number(
            "edge_distance", default.edge_distance_diameters, high=20.0, what="hole diameters"
        ),
        behind_m=fields.length("behind", default.behind_m, high_m=2.0),
        apart=fields.texts("apart", (), _CLASSES),
        metre_cost=_metre_cost(fields),
    )
    fields.finish()
    return drilling
