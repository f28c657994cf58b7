"""The measurements that every road vehicle is asked for, and what they can't contradict. All mm."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from routecut.patterns.measurements import Clash, Line, Measurement, Point, Range, Values, asked, least


def _level(a: str | None, b: str, z: float, y: float = 0.0) -> Line:
    """A level tape from the front of the bumper, or from one place behind it, to another."""

    def line(v: Values) -> tuple[Point, Point]:
        start = v[a] if a else 0.0
        return (start, y, z), (start + v[b] if a else v[b], y, z)

    return line


def _upright(x: Callable[[Values], float], key: str) -> Line:
    return lambda v: ((x(v), 0.0, 0.0), (x(v), 0.0, v[key]))


def road_asked(ranges: Mapping[str, Range], *, cab_end: str, behind: str) -> tuple[Measurement, ...]:
    """The measurements of a road vehicle.

    Parameters
    ----------
    ranges : mapping of str to Range
        By key; every key below must be there.
    cab_end : str
        What the cab ends at, in words: "the partition behind the seats".
    behind : str
        What the floor behind is called: "load floor".
    """

    def one(  # noqa: PLR0917 - they read best in a row
        key: str, words: str, how: str, along: str, changes: str, line: Line, view: str = "side"
    ) -> Measurement:
        return asked(key, words, how, along, ranges[key], changes, line, view)

    return (
        one(
            "overall_length",
            "Overall length",
            "from the front of the front bumper to the rear of the rear "
            "bumper, tape level, a straight board held against each",
            "x",
            f"how far the {behind} reaches to the rear",
            _level(None, "overall_length", -160),
        ),
        one(
            "front_overhang",
            "Front overhang",
            "from the front of the bumper to the middle of the front wheel, tape level along the side",
            "x",
            "where the front wheels and their arches are",
            _level(None, "front_overhang", 60),
        ),
        one(
            "wheelbase",
            "Wheelbase",
            "from the middle of the front wheel to the middle of the rear wheel, wheels "
            "straight, tape level along the side",
            "x",
            "where the rear wheels, their arches and what is hung under the floor are",
            _level("front_overhang", "wheelbase", 60),
        ),
        one(
            "windscreen_foot",
            "Windscreen foot",
            "from the front of the bumper to the lower edge of the "
            "windscreen in the middle, tape level over the bonnet",
            "x",
            "where the bulkhead stands: all of the engine bay",
            lambda v: ((0, 0, v["bonnet_height"] + 60), (v["windscreen_foot"], 0, v["bonnet_height"] + 60)),
        ),
        one(
            "windscreen_top",
            "Windscreen top",
            "from the lower edge of the windscreen to a plumb line from its upper edge, tape level",
            "x",
            "how steep the windscreen is and where the roof begins",
            lambda v: (
                (v["windscreen_foot"], 0, v["overall_height"] + 60),
                (v["windscreen_foot"] + v["windscreen_top"], 0, v["overall_height"] + 60),
            ),
        ),
        one(
            "striker",
            "Door striker",
            "from the lower edge of the windscreen to the striker of the front door, tape level",
            "x",
            "how long the front door is; the B-post",
            lambda v: (
                (v["windscreen_foot"], 0, 0.5 * (v["bonnet_height"] + v["cab_floor"])),
                (v["windscreen_foot"] + v["striker"], 0, 0.5 * (v["bonnet_height"] + v["cab_floor"])),
            ),
        ),
        one(
            "cab_length",
            "Cab length",
            f"from the lower edge of the windscreen to {cab_end}, tape level",
            "x",
            f"how long the cab is; where the {behind} begins",
            lambda v: (
                (v["windscreen_foot"], 0, v["overall_height"] + 160),
                (v["windscreen_foot"] + v["cab_length"], 0, v["overall_height"] + 160),
            ),
        ),
        one(
            "overall_width",
            "Overall width",
            "across the body behind the front doors, without mirrors: a straight "
            "board held upright against each side",
            "y",
            "all distances across",
            lambda v: ((0, -v["overall_width"] / 2, -120), (0, v["overall_width"] / 2, -120)),
            "front",
        ),
        one(
            "overall_height",
            "Overall height",
            "from the ground to the roof beside the middle, without aerials and bars, on level ground",
            "z",
            "how high cab and roof are",
            lambda v: (
                (0, v["overall_width"] / 2 + 120, 0),
                (0, v["overall_width"] / 2 + 120, v["overall_height"]),
            ),
            "front",
        ),
        one(
            "bonnet_height",
            "Bonnet height",
            "from the ground to the rear edge of the bonnet, in the middle",
            "z",
            "how high the engine bay, the dash and the side windows are",
            _upright(lambda v: v["windscreen_foot"] - 60, "bonnet_height"),
        ),
        one(
            "cab_floor",
            "Cab floor",
            "from the ground to the floor at the sill of the front door",
            "z",
            "how high the cab floor is",
            _upright(lambda v: v["windscreen_foot"] + 0.7 * v["striker"], "cab_floor"),
        ),
        one(
            "load_floor",
            behind[:1].upper() + behind[1:],
            f"from the ground to the {behind} at its rear edge",
            "z",
            f"how high the {behind} is",
            _upright(lambda v: v["overall_length"] - 260, "load_floor"),
        ),
    )


def road_clashes(v: Values, *, behind: float, roof: float) -> list[Clash]:
    """What can't be true of a road vehicle, whatever the ranges say.

    Parameters
    ----------
    behind : float
        What must be left behind the cab. [mm]
    roof : float
        What must be left between bonnet and roof. [mm]
    """
    found: list[Clash] = []

    foot = v["windscreen_foot"]
    found += least(
        ("overall_length", "windscreen_foot", "cab_length"),
        v["overall_length"] - foot - v["cab_length"],
        behind,
        "behind the cab",
    )
    found += least(
        ("cab_length", "striker"),
        v["cab_length"] - v["striker"],
        90,
        "from the striker to the end of the cab",
    )
    found += least(
        ("striker", "windscreen_top"),
        v["striker"] - 0.75 * v["windscreen_top"],
        250,
        "front door under the roof",
    )
    found += least(
        ("overall_height", "bonnet_height"),
        v["overall_height"] - v["bonnet_height"],
        roof,
        "from bonnet to roof",
    )
    found += least(
        ("bonnet_height", "cab_floor"), v["bonnet_height"] - v["cab_floor"], 430, "from cab floor to bonnet"
    )
    found += least(
        ("overall_length", "front_overhang", "wheelbase"),
        v["overall_length"] - v["front_overhang"] - v["wheelbase"],
        500,
        "behind the rear wheel",
    )
    found += least(
        ("front_overhang", "windscreen_foot"),
        foot + 450 - v["front_overhang"],
        0,
        "the front wheel ahead of the door",
    )
    found += least(
        ("front_overhang", "wheelbase", "windscreen_foot", "striker"),
        v["front_overhang"] + v["wheelbase"] - foot - v["striker"],
        150,
        "from the front door to the rear wheel",
    )
    return found
