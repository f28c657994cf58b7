"""A cable that is damaged at a hole it goes through: which cable, which hole.

Stage      planning; names only
Safe side  a hole that the cable does not go through is never taken for one that it does
"""

from __future__ import annotations

import re
from typing import Final

from routecut.model.plan import Plan
from routecut.model.service import Asked
from routecut.planning.questions import BODY, Calls, Question, folded, meant

_DAMAGE: Final = re.compile(
    r"\b(chafed|chafing|damaged|rubbed|broken|nicked|corroded|burnt|burned|frayed"
    r"|(is|was|got|been|be|and) cut(?! to))\b"
)
_KIND: Final = re.compile(r"\b(hole|cable)\b")
_SMALL: Final = frozenset(["over", "the", "of", "in", "at", "to", "and", "hole"])


def damage_question(plan: Plan, called: Calls, text: str) -> Question | None:
    """What a text asks of a cable damaged at a hole; None where it names no cable with a hole of its own."""
    whole = folded(text)
    if whole in called or not _DAMAGE.search(whole) or BODY.search(whole):
        return None
    # "D1 at hole H1" speaks of a hole and means the cable too
    things = list(dict.fromkeys(meant(called, _KIND.sub(" ", whole)) + meant(called, text)))
    cables = [name for kind, name in things if kind is Asked.CABLE]
    if len(cables) != 1 or any(kind not in {Asked.CABLE, Asked.HOLE} for kind, _ in things):
        return None
    planned = next(c for c in plan.cables if c.cable.name == cables[0])
    own = [p.name for p in planned.route.passages] if planned.route is not None else []
    named = [name for kind, name in things if kind is Asked.HOLE] or _likest(plan, whole)
    found = tuple(name for name in dict.fromkeys(own) if name in named)
    return Question(things=((Asked.CABLE, cables[0]),), damaged_at=found) if found else None


def _likest(plan: Plan, whole: str) -> list[str]:
    """The holes of the plan that most words are of; none where no word is of any."""
    words = set(re.findall(r"\w+", whole)) - _SMALL
    hits = {
        h.pass_through.name: len(words & set(re.findall(r"\w+", folded(h.pass_through.name))))
        for h in plan.holes
    }
    most = max(hits.values(), default=0)
    return [name for name, number in hits.items() if number == most > 0]
