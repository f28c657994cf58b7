"""The pattern "tractor": bonnet, glass cab in a roll-over frame, fenders, large rear wheels. All mm.

The roll-over frame is never drilled, ground or welded: nothing of it is offered for a hole.
"""

from __future__ import annotations

from routecut.model.job import Access
from routecut.patterns.made import (
    Fitted,
    Made,
    SectionBox,
    a_box,
    a_space,
    a_trim,
    capsule,
    hole,
    keep_out,
    mark,
    obstacle,
    panel,
    stepped,
)
from routecut.patterns.measurements import Values
from routecut.patterns.road import HANDS
from routecut.patterns.tractor_body import BONNET_HALF, BONNET_LOW, ROOF, tractor_form, tractor_parts


def make(v: Values) -> Made:
    """The tractor."""
    a, b = v["bonnet_length"], v["bonnet_length"] + v["cab_length"]
    floor, roof, w = v["cab_floor"], v["overall_height"], v["cab_width"] / 2
    high, length = v["bonnet_height"], v["overall_length"]
    rear = v["front_overhang"] + v["wheelbase"]
    liner = roof - ROOF
    console = floor + 430
    battery = (270.0, 0.0, BONNET_LOW + 230)
    half = v["overall_width"] / 2
    cab = [((a, -w, floor), (b, w, liner))]
    opening = (b - 190, w - 125, liner)
    antenna = (a + 0.45 * v["cab_length"], 0.0, roof)
    reach = (rear - v["rear_tyre"] / 2, rear + v["rear_tyre"] / 2)
    front = v["front_overhang"]
    return Made(
        parts=tractor_parts(v, battery),
        surfaces=(
            *obstacle(
                "bonnet",
                "glass-*",
                "wheel-*",
                "axle-*",
                "engine-*",
                "radiator",
                "chassis-*",
                "seat-*",
                "steering-*",
                "pedals",
                "exhaust",
                "fuel-tank",
                "battery",
                "link-*",
                "step-*",
                note="They move, get hot, are glass or castings: nothing is clipped to them.",
            ),
            a_trim("dash-shell", 20, "Trim: cables run behind it."),
            panel(
                "frame-*",
                4.0,
                note="ROLL-OVER FRAME: never drilled, ground or welded. Cables are tied or taped to it, no more.",
            ),
            panel(
                "roof-shell",
                5,
                material="plastic",
                drill=True,
                note="The roof is plastic: no ground plane under an antenna.",
            ),
            panel("firewall", 2.0, drill=True),
            panel("console-*", 4, material="plastic"),
            panel("*", 2.0),
        ),
        spaces=(
            a_space(
                "engine bay",
                stepped(tractor_form(v), (10, a), BONNET_LOW - 80, [high - 180, high - 90, high - 20]),
                (a - 130, 0.55 * BONNET_HALF, high - 190),
                "wet",
                "hot",
            ),
            a_space(
                "cab roof",
                [((a - 110, -w - 50, liner), (b + 110, w + 50, roof))],
                (a + 0.6 * v["cab_length"], 0, roof - 95),
                access=Access.TRIM,
                note="The hollow roof with fan and lamps, over the lining.",
            ),
            a_space("cab", cab, (a + 0.4 * v["cab_length"], -0.45 * w, floor + 1000)),
            a_space(
                "outside",
                [((-700, -half - 700, -60), (length + 700, half + 700, roof + 1200))],
                (0.5 * length, 0, roof + 500),
                "wet",
                "stones",
                note="Listed last: what no other space holds.",
            ),
        ),
        keep_outs=(
            keep_out(
                "exhaust stack",
                capsule((a - 260, 470, high - 350), (a - 260, 470, roof + 60), 60),
                "hot",
                150,
                note="Some stand at the A-post, some run below: look.",
            ),
            keep_out("engine", a_box(((560, -260, BONNET_LOW - 40), (a - 330, 260, high - 240))), "hot", 60),
            keep_out("fuel tank", a_box(((a - 80, -w + 20, 500), (a + 620, -330, floor - 90))), "fuel", 150),
            keep_out("fan and belts", a_box(((430, -260, BONNET_LOW), (560, 260, high - 260))), "moving", 75),
            keep_out(
                "power take-off shaft",
                capsule((b + 60, 0, 620), (length + 100, 0, 620), 120),
                "moving",
                100,
                note="The power take-off and what turns on it.",
            ),
            *(
                keep_out(
                    f"lift arm {hand}",
                    capsule((b - 60, s * 300, 560), (length, s * 420, 560), 80),
                    "moving",
                    75,
                    sweep=(0, 0, 500),
                )
                for hand, s in HANDS
            ),
            *(
                keep_out(
                    f"front wheel {hand}",
                    a_box(
                        (
                            (front - 0.62 * v["front_tyre"], min(s * 440, s * half), 0),
                            (front + 0.62 * v["front_tyre"], max(s * 440, s * half), v["front_tyre"]),
                        )
                    ),
                    "moving",
                    75,
                    note="With its steering, lock to lock." if s < 0 else "",
                )
                for hand, s in HANDS
            ),
            *(
                keep_out(
                    f"rear wheel {hand}",
                    a_box(
                        (
                            (reach[0], min(s * (w + 60), s * half), 0),
                            (reach[1], max(s * (w + 60), s * half), v["rear_tyre"]),
                        )
                    ),
                    "moving",
                    75,
                )
                for hand, s in HANDS
            ),
            keep_out(
                "steering column",
                capsule((a + 170, 0, floor + 250), (a + 470, 0, floor + 790), 45),
                "moving",
                40,
            ),
            keep_out(
                "pedals",
                a_box(((a, -330, floor), (a + 330, 330, floor + 220))),
                "moving",
                30,
                note="With their rods, from the firewall on: nothing is laid behind or under them.",
            ),
            keep_out(
                "floor under foot",
                a_box(((a + 60, -w + 160, floor), (a + 0.55 * v["cab_length"], w - 160, floor + 130))),
                "other",
                0,
                note="Nothing is laid where feet are: run along the sides of the floor instead.",
                confirmed=True,
            ),
            keep_out(
                "sprung seat travel",
                a_box(((a + 0.5 * v["cab_length"] - 60, -260, floor + 60), (b - 160, 260, floor + 1150))),
                "moving",
                60,
                sweep=(0, 0, 120),
                note="It slides, turns and bounces.",
            ),
            *(
                keep_out(
                    f"cab door {hand}",
                    a_box(
                        (
                            (a + 90, min(s * (w - 20), s * (w + 60)), floor + 20),
                            (a + 0.6 * v["cab_length"], max(s * (w - 20), s * (w + 60)), liner - 80),
                        )
                    ),
                    "moving",
                    10,
                )
                for hand, s in HANDS
            ),
        ),
        pass_throughs=(
            hole(
                "firewall grommet",
                (a, -0.62 * BONNET_HALF, high - 190),
                (1, 0, 0),
                40,
                ("engine bay", "cab"),
                in_use=18,
                note="Behind the dash, where the loom comes in.",
            ),
            hole(
                "roof lining opening",
                opening,
                (0, 0, 1),
                60,
                ("cab roof", "cab"),
                in_use=20,
                note="Down the inside of the rear post.",
            ),
            hole(
                "rear wall boot",
                (b, -0.6 * w, floor + 330),
                (1, 0, 0),
                50,
                ("cab", "outside"),
                in_use=15,
                note="The rubber boot for implement leads in the rear wall.",
            ),
            hole(
                "cab floor grommet", (b - 260, 0.5 * w, floor), (0, 0, 1), 30, ("cab", "outside"), in_use=12
            ),
        ),
        landmarks=(
            mark("bonnet rear edge", (a - 40, 0, float(tractor_form(v).top(a - 40))), "in the middle"),
            mark("cab roof corner front left", (a + 60, -w - 60, roof - 95)),
            mark("cab roof corner front right", (a + 60, w + 60, roof - 95)),
            mark("cab roof corner rear left", (b - 60, -w - 60, roof - 95)),
            mark("console corner left", (a + 0.55 * v["cab_length"], -w + 260, console)),
            mark("console corner right", (a + 0.55 * v["cab_length"], w - 260, console)),
            mark("rear wall corner left", (b, -w + 40, floor + 30)),
            mark("rear wall corner right", (b, w - 40, floor + 30)),
        ),
        sections=(
            SectionBox(
                name="engine bay, length",
                along="x",
                box=((0, -500, 300), (a, 500, high + 60)),
                keys=("bonnet_length",),
            ),
            SectionBox(
                name="cab, length",
                along="x",
                box=((a, -w - 100, floor - 100), (b + 120, w + 100, roof + 60)),
                keys=("cab_length",),
            ),
            SectionBox(
                name="engine bay, height",
                along="z",
                box=((0, -500, 300), (a, 500, high + 60)),
                keys=("bonnet_height",),
            ),
            SectionBox(
                name="cab, height",
                along="z",
                box=((a, -w - 100, floor - 100), (b + 120, w + 100, roof + 60)),
                keys=("overall_height", "cab_floor"),
            ),
            SectionBox(
                name="cab, width",
                along="y",
                box=((a, -w - 100, floor - 100), (b + 120, w + 100, roof + 60)),
                keys=("cab_width",),
            ),
        ),
        devices=(
            Fitted(
                name="battery",
                equipment="battery",
                at=battery,
                space="engine bay",
                facing="left",
                note="Or beside the step. 12 V or two in series: measure before anything is connected.",
            ),
            Fitted(
                name="voice radio",
                equipment="mobile radio, front head",
                at=(a + 0.8 * v["cab_length"], w - 250, console + 5),
                space="cab",
                facing="rear",
                note="on the right console",
            ),
            Fitted(name="VHF antenna", equipment="antenna base, roof hole", at=antenna, space="cab roof"),
        ),
        cables=("power", "return", "coax"),
        tape_checks=(
            ("cab roof corner front left", "cab roof corner front right"),
            ("cab roof corner front left", "cab roof corner rear left"),
            ("rear wall corner left", "rear wall corner right"),
        ),
    )
