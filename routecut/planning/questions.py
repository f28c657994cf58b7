"""What somebody means who asks about service in their own words: the names in a question, and what of each is wanted.

Stage      planning; names only, nothing of the vehicle
Safe side  a whole name beats everything; what is only like a name is said before it is answered, a number is
           never guessed at, and what fits too many names is asked back
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from routecut.errors import OutOfRangeError
from routecut.model.body_work import SIDES
from routecut.model.fault import Symptom
from routecut.model.service import Asked, Focus
from routecut.model.vehicle import Vec3
from routecut.plain import nearest_name, shown

Thing = tuple[Asked, str]
Calls = Mapping[str, Sequence[Thing]]
"""What each thing may be called, in small letters, and what is meant by it."""

_NEAREST: Final = 3
_MOST: Final = 3  # things answered at once for a name that is no whole one
_MOST_SHORT: Final = 8  # the same where only a line or two of each is wanted
_ALIKE: Final = 0.8  # of a word's letters: one slip in a word of five
_SHORTEST: Final = 4  # letters of a word that may have a slip

_FOCUS: Final = {
    Focus.FUSES: frozenset(["fuse", "fuses", "fused", "kill", "kills", "blown", "blow", "breaker"]),
    Focus.DRAW: frozenset(["draw", "draws", "drawing", "rewire", "renew"]),
    Focus.REFLECTED: frozenset(["reflected", "reflects", "reflection", "swr", "vswr"]),
    Focus.SPARE: frozenset(["spare", "spares", "slack", "surplus", "excess"]),
}
_ABOUT_FUSES: Final = frozenset(
    """a about all amp ampere amperes amps an and any are at behind big blows blew by cable cables circuit cut cuts
    dead device devices do does feed feeding feeds find first for go goes has have holder holders how i in is it
    its job kind large list make makes map me much must my near nearest need needs of off on or pop popped pops
    power protect protected protecting protects pull rated rating ratings s should show sit sits size sizes
    supplies supply supplying switch switches tell that the there this to trip tripped trips turn turns van
    vehicle want was what where which whose wire wires with you""".split()  # noqa: SIM905 - a word a line would be a page
)
"""What a question about fuses alone is made of, but for names: who says more wants all, and fuses stand first there."""

_NEW: Final = re.compile(r"\b(pull|lay|run|put|pulling|laying|running)\b.*\b(a )?(new|another|second)\b")
"""The same in other words; "draw it out" and "renew the radio" are not asked that way of a cable."""

BODY: Final = re.compile(
    r"\b(weld(s|ed|er|ing)?|braz(e|es|ed|ing)|grind(s|er|ing)?|(cutting )?torch|hot work|body ?(shop|work)"
    r"|panel beat\w*|crash(ed)?|accident|collision|(side|front|rear) impact|dent(s|ed)?|crush(ed)?|rammed"
    r"|rear.ended|hit|(was|been|got|were) struck|(drove|driven|backed|reversed) into)\b"
)
"""Work on the body itself, and what makes it needed."""

_RANGE: Final = re.compile(
    r"\b((poor|bad|short|weak|no|little|less|worse|reduced) (range|reception|signal|coverage)"
    r"|(range|reception|signal|coverage) (is |has (got|become) |got )?(too )?(poor|bad|short|weak|worse|low|gone)"
    r"|(nobody|no one|no-one|they) (can |can't |can not |cannot |don't |do not )?hears? (me|us)"
    r"|(can't|cannot|can not) (reach|hear) (anyone|anybody|the base|them))\b"
)
"""What a bad antenna or coax does, in the words of who uses the radio."""

_PART: Final = frozenset(["trim", "cover", "panel", "lining"])
_SIDE: Final = {
    "back": "rear",
    "tail": "rear",
    "nose": "front",
    "top": "roof",
    "underbody": "floor",
    "underside": "floor",
}
"""Other words for sides."""

_BUILT: Final = re.compile(
    r"\b(as (it was |it is )?(drawn|planned|built)|deviat\w*|deviations?|differs? from the (plan|drawing))\b"
)
"""Asks for all that was built otherwise."""
_CHANGED: Final = re.compile(
    r"\b((what|who|anything) (was |has been )?(changed|altered|done)|what did .*\b(change|alter|do)|record|history)\b"
)
"""The same, unless it is asked of something by its name."""

_WHOLE: Final = frozenset(
    """antenna antennas badly bad poor poorly wrong reads reading readings high higher too much power measure measured
    expect expected planned figure figures fault faults""".split()  # noqa: SIM905 - a word a line would be a page
)
"""Words of a question about reflected power that name no antenna of their own."""

_OUT: Final = re.compile(
    r"\b(strip|(take|pull|rip|get|bring) (it |them )?all out|remove (all|everything)"
    r"|everything (has to |must |should |can )?(comes? |be taken |goes? )?(out|off)"
    # a vehicle that is given back or sold goes without what was fitted
    r"|(goes?|going|gives?|given|hand|handed|handing|bring|take|taken) ((it|them|this|the \w+) )?back"
    r"|return(ed|ing)? (it|this|the (\w+ )?(van|vehicle|car|truck|boat|tractor|ambulance))"
    r"|leas(e|ed|ing)|sell|sold|selling|sale|back to (the )?standard)\b"
)
_HINTS: Final = {"behind": Asked.TRIM, "under": Asked.TRIM, "through": Asked.HOLE}
_PLURAL: Final = {f"{kind}s": kind for kind in Asked}
SAME: Final = {"mic": "microphone", "mike": "microphone", "aerial": "antenna", "loudspeaker": "speaker"}
_STOP: Final = frozenset(
    """
    a about again all and any are at be been behind by can cable cables change changing come comes connector
    connectors dead device devices do does fails feed feeds find fit fix for from get gets go goes got has
    have hidden history hole holes how i in into is it its job joint joints kept last length list lie lies long loose
    lost make many map me mend much must my need needs new no not of off on one open or other out over part
    piece protect protected pull re-terminate reach record recorded serial
    remove repair replace run runs second should show silent sit sits space spaces stop
    stops supplies swap take
    tell terminate test that the them there this through to trim trims under unplug up van vehicle volt voltage
    volts want was
    what when where which who why will wire wires with work works you
    """.split()  # noqa: SIM905 - a word a line would be a page
)
"""Words of questions that are no part of a name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What was asked.

    Attributes
    ----------
    things : tuple of (Asked, str)
        In the order in which they were named.
    focus : Focus or None
        What of each is wanted; everything when None.
    listed : Asked or None
        All of a kind are asked for, none by name.
    sides : tuple of str
        Of the vehicle, or of what was named, where work on the body was asked about.
    symptom : Symptom or None
        Of something dead or silent; `things` are the devices it may be then, none where none is named.
    diameter_m : float
        Of one more cable that room is asked for; 0 where that is not said. [m]
    cable_class : str
        Of the same; empty where that is not said.
    at_m : Vec3 or None
        A point where the body is worked on. [m]
    taken : str
        How it was understood, where no whole name stands in it; to be said before the answer.
    damaged_at : tuple of str
        Holes where the cable that was named is damaged.
    """

    things: tuple[Thing, ...] = ()
    focus: Focus | None = None
    listed: Asked | None = None
    sides: tuple[str, ...] = ()
    symptom: Symptom | None = None
    diameter_m: float = 0.0
    cable_class: str = ""
    at_m: Vec3 | None = None
    taken: str = ""
    damaged_at: tuple[str, ...] = ()


def understood(called: Calls, text: str) -> Question:
    """What a text asks for.

    Parameters
    ----------
    called : mapping
    text : str
        A name, or a question in anybody's words.

    Raises
    ------
    OutOfRangeError
        Nothing is called that, or too much; the message has the names that are nearest.

    Examples
    --------
    >>> called = {"siren amplifier": [(Asked.DEVICE, "siren amplifier")], "p1": [(Asked.CABLE, "P1")]}
    >>> understood(called, "which fuse kills the sirens?").focus
    <Focus.FUSES: 'fuses'>
    >>> understood(called, "where is spare cable").things
    ((<Asked.JOB: 'job'>, 'everything'),)
    """
    whole = folded(text)
    if whole in called:
        return Question(things=tuple(called[whole]))
    words = [SAME.get(word, word) for word in re.findall(r"[\w-]+", whole.replace("'s", ""))]
    if BODY.search(whole):
        return _body_work(called, whole)
    focus = next((f for f, signs in _FOCUS.items() if signs & set(words)), None)
    if focus is None and _RANGE.search(whole):
        named = [t for t in meant(called, text) if t[0] in {Asked.DEVICE, Asked.CABLE}]
        return Question(
            things=tuple(named) or ((Asked.JOB, "everything"),),
            focus=Focus.REFLECTED,
            taken='taken to be about the antenna and its coax; of a microphone ask "the microphone is dead"',
        )
    if focus is None and _NEW.search(whole):
        focus = Focus.DRAW
    if focus is None and (_BUILT.search(whole) or (_CHANGED.search(whole) and not meant(called, text))):
        return Question(things=((Asked.JOB, "everything"),), focus=Focus.BUILT)
    asked = [w for w in words if w not in (_STOP if focus is None else _STOP | _FOCUS[focus])]
    more = focus is Focus.FUSES and bool(asked) and _says_more_than_fuses(called, words)
    if more:
        focus = None
    if focus is Focus.REFLECTED:
        asked = [w for w in asked if w not in _WHOLE]
    found = _named(called, whole) if more else meant(called, text)
    if found and _says_more(called, found, asked):
        # "the left cab speaker" is in the cab, but not the cab
        return replace(_like(called, text, asked, words, focus), focus=focus)
    if found:
        own = focus is Focus.FUSES and all(kind is Asked.FUSE for kind, _ in found)
        own |= focus is Focus.DRAW and not all(kind in {Asked.CABLE, Asked.HOLE} for kind, _ in found)
        return Question(things=tuple(found), focus=None if own else focus)
    if focus is Focus.DRAW:
        focus = None  # nothing by its whole name: what is like one is answered in full
    if focus is None and _OUT.search(whole):
        return Question(things=((Asked.STRIP, "everything"),))
    if focus is not None and not asked:
        return Question(things=((Asked.JOB, "everything"),), focus=focus)
    kinds = [kind for word in words if (kind := _PLURAL.get(word)) is not None]
    if kinds and not [w for w in asked if w not in _PLURAL]:
        return Question(listed=kinds[0])
    return replace(_like(called, text, asked, words, focus), focus=focus)


def _body_work(called: Calls, whole: str) -> Question:
    """Where the body is worked on: what is named, trim also without the word, else the sides of the vehicle."""
    words = {"post" if word == "pillar" else word for word in re.findall(r"\w+", whole)}
    found = _named(called, whole)
    if not found or all(kind is Asked.SPACE for kind, _ in found):
        trims = {
            thing: len(own)
            for call, things in called.items()
            for thing in things
            if thing[0] is Asked.TRIM
            and len(own := set(re.findall(r"\w+", call)) - _PART) > 1
            and own <= words
        }
        found = [thing for thing, size in trims.items() if size == max(trims.values())] or found
    sides = {_SIDE.get(word, word) for word in words} & set(SIDES)
    if found:
        # "the front of the left sill": the left is of its name, the front is a part of it
        own = {
            word
            for call, things in called.items()
            if set(things) & set(found)
            for word in re.findall(r"\w+", call)
        }
        part = sides - {_SIDE.get(word, word) for word in own}
        return Question(things=tuple(found), focus=Focus.BODY, sides=tuple(s for s in SIDES if s in part))
    if not sides:
        raise OutOfRangeError(
            f"it is not said where in {shown(whole)}: name a piece of trim, a space, a device or a keep-out, or a "
            f"side of the vehicle: {', '.join(SIDES)}"
        )
    return Question(
        things=((Asked.JOB, "everything"),), focus=Focus.BODY, sides=tuple(s for s in SIDES if s in sides)
    )


def _says_more_than_fuses(called: Calls, words: Iterable[str]) -> bool:
    known = {word for call in called for word in re.findall(r"[\w-]+", call)}
    known |= {part for word in known for part in re.findall(r"\w+", word)}
    alone = _ABOUT_FUSES | _FOCUS[Focus.FUSES] | set(_PLURAL) | {str(kind) for kind in Asked}
    return any(word not in alone and not nearest_word(word, known) for word in words)


def _says_more(called: Calls, found: Sequence[Thing], asked: Sequence[str]) -> bool:
    """Whether all that is called by its whole name are spaces, and other words are of names that have theirs too."""
    if any(kind is not Asked.SPACE for kind, _ in found):
        return False
    spaces = {word for _, name in found for word in re.findall(r"\w+", folded(name))}
    names = [set(re.findall(r"\w+", call)) for call in called]
    known = {word for own in names for word in own}
    hits = {hit for word in asked if (hit := nearest_word(word, known))} - spaces
    return any(hits <= own and own & spaces for own in names) if hits else False


def meant(called: Calls, text: str) -> list[Thing]:
    """What a text means: a whole name, else the longest names that stand in it as words.

    Examples
    --------
    >>> called = {"h2": [(Asked.HOLE, "H2")], "sill trim": [(Asked.TRIM, "sill trim")]}
    >>> meant(called, "What runs through hole H2?")
    [(<Asked.HOLE: 'hole'>, 'H2')]
    >>> meant(called, "H22")
    []
    """
    whole = folded(text)
    return list(called[whole]) if whole in called else _of_kind(_named(called, whole), whole)


def _named(called: Calls, whole: str) -> list[Thing]:
    """The longest names that stand in a folded text as words, in their order."""
    taken: list[tuple[int, int]] = []
    found: list[tuple[int, Thing]] = []
    for call in sorted(called, key=lambda c: (-len(c), c)):
        for match in re.finditer(rf"(?<!\w){re.escape(call)}(?!\w|\.\w)", whole):
            if all(match.end() <= a or b <= match.start() for a, b in taken):
                taken.append(match.span())
                found += [(match.start(), thing) for thing in called[call]]
    return list(dict.fromkeys(thing for _, thing in sorted(found, key=lambda f: f[0])))


def _of_kind(things: list[Thing], text: str) -> list[Thing]:
    """Those of the kind that the text speaks of; all where it speaks of none of theirs."""
    kinds = {str(asked) for asked in Asked if re.search(rf"(?<!\w){asked}(?!\w)", text)}
    return [thing for thing in things if str(thing[0]) in kinds] or things


def _like(
    called: Calls, text: str, asked: Sequence[str], words: Sequence[str], focus: Focus | None
) -> Question:
    """What is like a text word by word; the user is told how it was taken."""
    of: dict[Thing, set[str]] = {}
    say: dict[Thing, str] = {}
    for call, things in called.items():
        for thing in things:
            if thing[0] not in {Asked.CONNECTOR, Asked.FUSE, Asked.JOINT}:
                of.setdefault(thing, set()).update(re.findall(r"\w+", call))
                say[thing] = call if thing[0] is Asked.TRIM and "-" not in call else say.get(thing, thing[1])
    known = {word for own in of.values() for word in own}
    hits = [hit for word in asked if (hit := nearest_word(word, known))]
    guessed = any(re.search(r"\d", word) and word not in known for word in asked)
    if guessed or not hits or len(hits) * 2 < len(asked):
        raise OutOfRangeError(_unknown(text, called))
    best = [thing for thing, own in of.items() if set(hits) <= own]
    if not best:
        weighed = {thing: sum(1 / _holders(of, hit) for hit in set(hits) & own) for thing, own in of.items()}
        first, second = sorted(weighed.values(), reverse=True)[:2] if len(weighed) > 1 else (1.0, 0.0)
        best = [thing for thing, weight in weighed.items() if weight == first]
        if len(best) > 1 or first < 2 * second:
            near = sorted(weighed, key=lambda thing: (-weighed[thing], thing))[:_NEAREST]
            raise OutOfRangeError(_unknown(text, called, [say[thing] for thing in near]))
    hinted = {kind for word, kind in _HINTS.items() if word in words}
    best = _of_kind([t for t in best if t[0] in hinted] or best, folded(text))
    most = _MOST if focus is None else _MOST_SHORT
    if len(best) > most and "in" in words:
        best = [thing for thing in best if thing[0] is Asked.SPACE] or best
    if len(best) > most:
        raise OutOfRangeError(
            f"{len(best)} names fit {shown(text)}: {', '.join(repr(say[t]) for t in best)}. Say which"
        )
    told = " and ".join(f"{thing[0]} {say[thing]!r}" for thing in best)
    return Question(
        things=tuple(best), taken=f"taken to be about {told}; give the whole name if another is meant"
    )


def _holders(of: Mapping[Thing, set[str]], word: str) -> int:
    return sum(word in own for own in of.values())


def nearest_word(word: str, known: set[str]) -> str:
    """A word of the names that this one is, but for its plural or a slip; empty where there is none."""
    for form in (word, word.removesuffix("s"), f"{word}s"):
        if form in known:
            return form
    if len(word) < _SHORTEST or re.search(r"\d", word):
        return ""
    near = difflib.get_close_matches(
        word, sorted(w for w in known if not re.search(r"\d", w)), n=1, cutoff=_ALIKE
    )
    return near[0] if near else ""


def _unknown(text: str, called: Calls, near: Iterable[str] = ()) -> str:
    names = list(near) or _nearest(text, called)
    told = f"; the nearest known: {', '.join(repr(n) for n in names)}" if names else ""
    return f"nothing in the plan is called {shown(text)}{told}. Without a name everything that can be asked is listed"


def _nearest(text: str, called: Calls) -> list[str]:
    by_call = {call: things[0][1] for call, things in called.items()}
    left, near = dict(by_call), []
    for _ in range(_NEAREST):
        close = nearest_name(folded(text), left)
        if not close:
            break
        near.append(by_call[close])
        del left[close]
    return near


def folded(text: str) -> str:
    """A text as it is compared: small letters, single blanks, no mark at its end, no article before it."""
    words = " ".join(text.casefold().strip(" ?!.").split())
    return words.removeprefix("the ")
