"""What is asked for a small boat, and what can't be true of one. All mm."""

from __future__ import annotations

from routecut.patterns.measurements import Clash, Values, asked, least


def _mid(v: Values) -> float:
    return v["wheelhouse_front"] + 0.6 * v["wheelhouse_length"]


MEASUREMENTS = (
    asked(
        "hull_length",
        "Hull length",
        "from the stem to the transom, tape level, a plumb line at either end",
        "x",
        (7000, 5200, 9500),
        "how far the cockpit reaches aft",
        lambda v: ((0, 0, -150), (v["hull_length"], 0, -150)),
    ),
    asked(
        "beam",
        "Beam",
        "across the deck at the hull's widest, from edge of the hull to edge of the hull, without the fenders",
        "y",
        (2500, 2000, 3200),
        "all distances across the hull",
        lambda v: ((0, -v["beam"] / 2, -150), (0, v["beam"] / 2, -150)),
        "front",
    ),
    asked(
        "transom_width",
        "Transom width",
        "across the top of the transom, outside, without the fenders",
        "y",
        (2200, 1600, 3000),
        "how the hull narrows aft",
        lambda v: (
            (0, -v["transom_width"] / 2, v["gunwale_height"] + 120),
            (0, v["transom_width"] / 2, v["gunwale_height"] + 120),
        ),
        "rear",
    ),
    asked(
        "gunwale_height",
        "Gunwale height",
        "from the lowest point of the keel plumb up to the gunwale amidships",
        "z",
        (1250, 900, 1700),
        "how high the side decks are",
        lambda v: ((_mid(v), 0, 0), (_mid(v), 0, v["gunwale_height"])),
    ),
    asked(
        "bow_height",
        "Bow height",
        "from the level of the keel plumb up to the top of the stem",
        "z",
        (1600, 1150, 2200),
        "the sheer of the foredeck",
        lambda v: ((-120, 0, 0), (-120, 0, v["bow_height"])),
    ),
    asked(
        "wheelhouse_front",
        "Wheelhouse front",
        "from the stem to the foot of the front windows, tape level",
        "x",
        (2300, 1500, 3400),
        "where the wheelhouse stands; the foredeck",
        lambda v: ((0, 0, v["bow_height"] + 200), (v["wheelhouse_front"], 0, v["bow_height"] + 200)),
    ),
    asked(
        "wheelhouse_length",
        "Wheelhouse length",
        "from the foot of the front windows to the rear bulkhead, tape level",
        "x",
        (2000, 1400, 2900),
        "how long the wheelhouse is",
        lambda v: (
            (v["wheelhouse_front"], 0, v["bow_height"] + 330),
            (v["wheelhouse_front"] + v["wheelhouse_length"], 0, v["bow_height"] + 330),
        ),
    ),
    asked(
        "wheelhouse_width",
        "Wheelhouse width",
        "across the wheelhouse outside, at the windows",
        "y",
        (1850, 1300, 2500),
        "how wide the wheelhouse is",
        lambda v: (
            (0, -v["wheelhouse_width"] / 2, v["sole_height"] + (v["window_sill"] + v["headroom"]) / 2),
            (0, v["wheelhouse_width"] / 2, v["sole_height"] + (v["window_sill"] + v["headroom"]) / 2),
        ),
        "front",
    ),
    asked(
        "sole_height",
        "Wheelhouse sole",
        "from the level of the keel up to the sole of the wheelhouse",
        "z",
        (560, 380, 800),
        "how high the sole is and how deep the bilge",
        lambda v: ((_mid(v) - 350, 0, 0), (_mid(v) - 350, 0, v["sole_height"])),
    ),
    asked(
        "headroom",
        "Headroom",
        "from the sole up to the outside of the roof, in the middle of the wheelhouse",
        "z",
        (2050, 1750, 2300),
        "how high the roof is",
        lambda v: (
            (_mid(v) + 350, 0, v["sole_height"]),
            (_mid(v) + 350, 0, v["sole_height"] + v["headroom"]),
        ),
    ),
    asked(
        "window_sill",
        "Window sill",
        "from the sole of the wheelhouse up to the lower edge of the side windows",
        "z",
        (1050, 800, 1300),
        "where the windows begin; the top of the console",
        lambda v: ((_mid(v), 0, v["sole_height"]), (_mid(v), 0, v["sole_height"] + v["window_sill"])),
    ),
    asked(
        "cockpit_sole",
        "Cockpit sole",
        "from the level of the keel up to the sole of the cockpit",
        "z",
        (620, 400, 850),
        "how high the cockpit sole is",
        lambda v: ((v["hull_length"] - 500, 0, 0), (v["hull_length"] - 500, 0, v["cockpit_sole"])),
    ),
)


def clashes(v: Values) -> list[Clash]:
    """What can't be true of a small boat with a wheelhouse."""
    found: list[Clash] = []

    aft = v["hull_length"] - v["wheelhouse_front"] - v["wheelhouse_length"]
    found += least(
        ("hull_length", "wheelhouse_front", "wheelhouse_length"), aft, 1200, "aft of the wheelhouse"
    )
    found += least(
        ("beam", "wheelhouse_width"), v["beam"] - v["wheelhouse_width"], 250, "for both side decks"
    )
    found += least(("beam", "transom_width"), v["beam"] - v["transom_width"], 0, "from transom width to beam")
    found += least(
        ("gunwale_height", "cockpit_sole"),
        v["gunwale_height"] - v["cockpit_sole"],
        300,
        "from cockpit sole to gunwale",
    )
    found += least(
        ("gunwale_height", "sole_height"), v["gunwale_height"] - v["sole_height"], 300, "from sole to gunwale"
    )
    found += least(
        ("headroom", "window_sill"), v["headroom"] - v["window_sill"], 550, "from window sill to roof"
    )
    found += least(
        ("bow_height", "gunwale_height"), v["bow_height"] - v["gunwale_height"], 0, "from gunwale to bow"
    )
    return found
