"""A drill card and a plan with it, all invented."""

from __future__ import annotations

from routecut.model.drilling import DrillCard, HoleSide, HoleSize, Met, Outline, Taped, TapeFix
from routecut.model.job import HoleState, PassThrough, Position, Reason
from routecut.model.plan import Plan, PlannedHole
from tests.drilling.scenes import job_of

FORWARD, BACK = (-1.0, 0.0, 0.0), (1.0, 0.0, 0.0)


def card() -> DrillCard:
    """A hole in a bulkhead, drilled from the cab."""
    return DrillCard(
        name="H1",
        at_m=(1.3, 0.2, 0.9),
        axis=BACK,
        parts=("bulkhead",),
        cables=("C1", "P1"),
        material="steel",
        thickness_m=0.001,
        near=HoleSide(space="cab", out=BACK, met=None, around=None, approach_m=float("inf"), seen=0.0),
        far=HoleSide(
            space="engine bay",
            out=FORWARD,
            met=Met(free_m=0.0621, what="fuel pipe", reason=Reason.FUEL),
            around=None,
            approach_m=0.06,
            seen=1.0,
        ),
        size=HoleSize(
            clear_m=0.016,
            drill_m=0.020,
            pilot_m=0.003,
            needed_m=0.0155,
            enough_m=0.016,
            by="the plug of C1, 14 mm, has to pass",
            alternative_m=0.012,
            alternative="the plug of C1 fitted in the vehicle",
            bare_m=0.028,
            groove_m=0.001,
        ),
        fix=TapeFix(
            tapes=(
                Taped(landmark="left bolt", distance_m=0.812, sigma_m=0.003),
                Taped(landmark="right bolt", distance_m=0.455, sigma_m=0.003),
            ),
            check=Taped(landmark="seat bolt", distance_m=1.010, sigma_m=0.003),
            check_within_m=0.012,
            crossing_deg=74.0,
            which="up",
            axes_m=(0.0084, 0.0066),
            long_axis=(0.0, 0.0, 1.0),
            model_axes_m=(0.015, 0.012),
            from_space="cab",
        ),
        no_fix="",
        stop_m=0.0049,
        longest_screw_m=0.0125,
        refused=None,
        trust="Lengths may be trusted, this position is to be re-measured on the vehicle.",
        outline=Outline(
            across=(0.0, 1.0, 0.0),
            up=(0.0, 0.0, 1.0),
            across_word="rear",
            up_word="up",
            lines=(((-0.085, 0.06), (0.085, 0.06)),),
            holes=((0.05, -0.04, 0.030, "old grommet"),),
        ),
        notes=("engine bay gets wet: seal it, and keep a drip loop below it.",),
    )


def plan_of(told: DrillCard) -> Plan:
    """A plan of no cables and one hole to drill."""
    hole = PassThrough(
        name=told.name,
        position=Position(at_m=told.at_m),
        axis=told.axis,
        diameter_m=told.size.clear_m,
        state=HoleState.CANDIDATE,
        joins=(told.near.space, told.far.space),
    )
    return Plan(
        version="test",
        job=job_of(pass_throughs=[hole]),
        cables=(),
        holes=(
            PlannedHole(
                pass_through=hole,
                state=HoleState.CANDIDATE,
                drill=True,
                at_m=told.at_m,
                axis=told.axis,
                cables=told.cables,
                behind_m={s.space: None if s.met is None else s.met.free_m for s in (told.near, told.far)},
                why="without it a cable could not be reached",
            ),
        ),
        drilling=(told,),
    )
