"""What is asked for a tractor, and what can't be true of one. All mm."""

from __future__ import annotations

from routecut.patterns.measurements import Clash, Values, asked, least

MEASUREMENTS = (
    asked(
        "overall_length",
        "Overall length",
        "from the front of the bonnet to the ends of the rear lift arms, tape level",
        "x",
        (4200, 3300, 5600),
        "where the rear linkage ends",
        lambda v: ((0, 0, -200), (v["overall_length"], 0, -200)),
    ),
    asked(
        "front_overhang",
        "Front overhang",
        "from the front of the bonnet to the middle of the front wheel, tape level",
        "x",
        (700, 350, 1100),
        "where the front wheels are",
        lambda v: ((0, 0, 200), (v["front_overhang"], 0, 200)),
    ),
    asked(
        "wheelbase",
        "Wheelbase",
        "from the middle of the front wheel to the middle of the rear wheel, wheels straight",
        "x",
        (2450, 1900, 3100),
        "where the rear wheels and fenders are",
        lambda v: ((v["front_overhang"], 0, 200), (v["front_overhang"] + v["wheelbase"], 0, 200)),
    ),
    asked(
        "bonnet_length",
        "Bonnet length",
        "from the front of the bonnet to the front glass of the cab, tape level",
        "x",
        (1950, 1300, 2600),
        "how long the engine bay is; where the cab begins",
        lambda v: ((0, 0, v["bonnet_height"] + 120), (v["bonnet_length"], 0, v["bonnet_height"] + 120)),
    ),
    asked(
        "cab_length",
        "Cab length",
        "from the front glass to the rear glass at the height of the seat, tape level",
        "x",
        (1550, 1250, 1900),
        "how long the cab is",
        lambda v: (
            (v["bonnet_length"], 0, v["overall_height"] + 120),
            (v["bonnet_length"] + v["cab_length"], 0, v["overall_height"] + 120),
        ),
    ),
    asked(
        "cab_width",
        "Cab width",
        "across the cab outside, over the doors at the height of the seat",
        "y",
        (1600, 1250, 1900),
        "all distances across the cab",
        lambda v: (
            (0, -v["cab_width"] / 2, v["overall_height"] + 150),
            (0, v["cab_width"] / 2, v["overall_height"] + 150),
        ),
        "front",
    ),
    asked(
        "overall_width",
        "Overall width",
        "across the rear wheels, outside",
        "y",
        (2300, 1750, 2800),
        "where the rear wheels stand",
        lambda v: ((0, -v["overall_width"] / 2, -200), (0, v["overall_width"] / 2, -200)),
        "front",
    ),
    asked(
        "overall_height",
        "Overall height",
        "from the ground to the cab roof, without beacons and aerials, on level ground",
        "z",
        (2800, 2350, 3250),
        "how high the cab is",
        lambda v: (
            (v["bonnet_length"] + 0.75 * v["cab_length"], 0, 0),
            (v["bonnet_length"] + 0.75 * v["cab_length"], 0, v["overall_height"]),
        ),
    ),
    asked(
        "bonnet_height",
        "Bonnet height",
        "from the ground to the rear edge of the bonnet in the middle",
        "z",
        (1650, 1250, 2000),
        "how high engine bay and dash are",
        lambda v: ((v["bonnet_length"] - 80, 0, 0), (v["bonnet_length"] - 80, 0, v["bonnet_height"])),
    ),
    asked(
        "cab_floor",
        "Cab floor",
        "from the ground to the floor of the cab at its door",
        "z",
        (1050, 750, 1350),
        "how high the cab floor is",
        lambda v: ((v["bonnet_length"] + 350, 0, 0), (v["bonnet_length"] + 350, 0, v["cab_floor"])),
    ),
    asked(
        "front_tyre",
        "Front tyre",
        "height of the front tyre on its ground",
        "z",
        (1200, 700, 1500),
        "how big the front wheels are",
        lambda v: ((v["front_overhang"], 0, 0), (v["front_overhang"], 0, v["front_tyre"])),
    ),
    asked(
        "rear_tyre",
        "Rear tyre",
        "height of the rear tyre on its ground",
        "z",
        (1700, 1250, 2050),
        "how big rear wheels and fenders are",
        lambda v: (
            (v["front_overhang"] + v["wheelbase"], 0, 0),
            (v["front_overhang"] + v["wheelbase"], 0, v["rear_tyre"]),
        ),
    ),
)


def clashes(v: Values) -> list[Clash]:
    """What can't be true of a tractor with a cab."""
    found: list[Clash] = []

    end = v["bonnet_length"] + v["cab_length"]
    found += least(
        ("overall_height", "cab_floor"), v["overall_height"] - v["cab_floor"], 1450, "from cab floor to roof"
    )
    found += least(
        ("bonnet_height", "cab_floor"), v["bonnet_height"] - v["cab_floor"], 250, "from cab floor to bonnet"
    )
    found += least(
        ("overall_length", "bonnet_length", "cab_length"), v["overall_length"] - end, 100, "behind the cab"
    )
    found += least(
        ("overall_width", "cab_width"),
        v["overall_width"] - v["cab_width"],
        300,
        "beside the cab for the rear wheels",
    )
    rear = v["front_overhang"] + v["wheelbase"]
    found += least(
        ("front_overhang", "wheelbase", "bonnet_length"),
        rear - v["bonnet_length"],
        500,
        "from the cab's front to the rear wheel's middle",
    )
    found += least(
        ("overall_length", "front_overhang", "wheelbase"),
        v["overall_length"] - rear,
        250,
        "behind the rear wheel's middle",
    )
    found += least(
        ("wheelbase", "front_tyre", "rear_tyre"),
        v["wheelbase"] - (v["front_tyre"] + v["rear_tyre"]) / 2,
        150,
        "between the tyres",
    )
    return found
