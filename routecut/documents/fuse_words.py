"""What is said of a fuse where the hand is: what the load asks for, and a rating below that.

Stage      documents; figures of `routecut.sizing`, nothing is sized here
"""

from __future__ import annotations

from routecut.documents.service_reach import place_of, reach_text
from routecut.model.plan import Plan
from routecut.model.service import PlaceKind
from routecut.model.sizing import Electrical, Fuse


def asked_text(e: Electrical) -> str:
    """What the rules want for this load."""
    return f"{e.least_fuse_a:.3g} A or more asked for {e.amps:g} A at duty and {e.peak_amps:g} A at peak"


def fuse_reach(plan: Plan, cable: str, fuse: Fuse) -> str:
    """Where a fuse sits and what it takes to get at it: as the service study found, else as the job says."""
    place = place_of(plan, PlaceKind.FUSE, f"fuse of {cable}")
    if place is not None:
        return f"{fuse.space}: {reach_text(plan, place)}"
    return f"{fuse.space} (access: {fuse.access})" if fuse.access else fuse.space


def below_text(e: Electrical) -> str:
    """That the job sets a rating below what the rules want, and what to do; empty where it does not."""
    if e.fuse is None or e.fuse.rating_a >= e.least_fuse_a * (1 - 1e-9):
        return ""
    return (
        f"{e.fuse.rating_a:g} A fuse as the job has it from the maker of the load, BELOW THE RULE ({asked_text(e)}): "
        "it may open early where it is warm. Fit no larger one unless the maker allows it"
    )
