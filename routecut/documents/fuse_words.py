"""What is said of a fuse where the hand is: what the load asks for, and a rating below that.

Stage      documents; figures of `routecut.sizing`, nothing is sized here
"""

from __future__ import annotations

from routecut.model.sizing import Electrical


def asked_text(e: Electrical) -> str:
    """What the rules want for this load."""
    return f"{e.least_fuse_a:.3g} A or more asked for {e.amps:g} A at duty and {e.peak_amps:g} A at peak"


def below_text(e: Electrical) -> str:
    """That the job sets a rating below what the rules want, and what to do; empty where it does not."""
    if e.fuse is None or e.fuse.rating_a >= e.least_fuse_a * (1 - 1e-9):
        return ""
    return (
        f"{e.fuse.rating_a:g} A fuse as the job has it from the maker of the load, BELOW THE RULE ({asked_text(e)}): "
        "it may open early where it is warm. Fit no larger one unless the maker allows it"
    )
