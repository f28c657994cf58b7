"""Something is dead or silent: which symptom somebody tells of, and which devices it may be.

Stage      planning; names only
Safe side  a device that is only one of several that fit is asked back, not picked
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final

from routecut.model.fault import FaultSearch, Symptom
from routecut.model.plan import Plan
from routecut.model.service import Answer, Asked, Focus
from routecut.planning.questions import SAME, Calls, Question, folded, meant, nearest_word
from routecut.service import fault_answer, fault_searches

_MOST: Final = 2
"""Devices answered in full at once; of more only which they are."""

_SILENT: Final = re.compile(
    r"\b(silent|mute|no (sound|audio|speech|tone)|not? a sound|nothing (is |can be )?heard|can'?t hear|cannot hear"
    r"|(crackl|distort)\w*|(doesn'?t|does not|won'?t|don'?t|do not|no longer|not)"
    r" (sound|sounds|speak|play))\b"
)
_DEAD: Final = re.compile(
    r"\b((no|low|too few|lost|loses|little|missing) (power|volts?|voltage|supply|current)|under.?voltage|brown.?out"
    r"|(volts?|voltage) (is |are |at [\w .]+ (is |are )?)?(too )?low|^dead\b"
    r"|(is|are|was|went|goes|seems|stays|looks|gone) dead|\bdead$"
    r"|dead (radio|modem|amplifier|hailer|horn|speaker|head|terminal|microphone)|died"
    r"|(doesn'?t|does not|won'?t|will not|no longer|can'?t) (turn|switch|power|come|start|work|boot|respond)\w*"
    r"|(is|are) not working|stopped working|not work(ing)?|out of order"
    r"|(cuts|drops|switches|turns) (itself )?(out|off)"
    r"|(keeps )?(resets?|resetting|restarts?|restarting|rebooting|reboots?))\b"
)
_BLOWS: Final = re.compile(
    r"\b(keeps?|kept) (on )?(blowing|tripping|popping)\b|\b(blows?|blew|trips?|pops?) again\b"
)
"""A fuse that was changed and opened again: the fault is behind it."""
_NOT: Final = re.compile(
    r"\b(what|who|which|everything) (\w+ )?(is|are|go|goes|else is|else goes) dead\b|\bdead (then|when|if)\b"
)
"""Asks what a fuse makes dead."""
_WORKS: Final = re.compile(r"^.*\b(works?|working|fine|ok|okay|alive)\b\W+(but|only|just)\b")
"""What comes before it is told to be in order."""

_ALSO: Final = {"loudspeaker": "speaker", "transceiver": "radio"}
"""What a kind of device is called as well."""
_WORDLESS: Final = frozenset(
    """a an and any at is are the its it no not of on in to too low dead silent sound audio power volts volt voltage why
    what does doesn t won do nothing from there i get gets has have my our with where which check test measure fault
    find can cannot hear heard work works working turn switch come comes go goes went off up out anymore more longer
    supply current reset resets keeps crackles suddenly when transmit transmitting engine""".split()  # noqa: SIM905
)


def symptom_of(text: str) -> Symptom | None:
    """The symptom a text tells of; None where it tells of none.

    Examples
    --------
    >>> symptom_of("The radio is dead"), symptom_of("no sound"), symptom_of("replace the radio")
    (<Symptom.POWER: 'no power'>, <Symptom.SOUND: 'no sound'>, None)
    >>> symptom_of("what is dead when I pull P3") is None
    True
    """
    whole = folded(text)
    if _SILENT.search(whole):
        return Symptom.SOUND
    if _BLOWS.search(whole):
        return Symptom.POWER
    if _DEAD.search(whole) and not _NOT.search(whole):
        return Symptom.POWER
    return None


def suspects(called: Calls, kinds: Mapping[str, str], text: str) -> tuple[str, ...]:
    """The devices a text may be about, by their names or by what they are; none where it names none.

    Parameters
    ----------
    called : mapping
    kinds : mapping of str to str
        By device: what it is.
    text : str
    """
    named = [thing for thing in meant(called, text) if thing[0] is Asked.DEVICE]
    if named:
        return tuple(dict.fromkeys(name for _, name in named))
    words = [SAME.get(w, w) for w in re.findall(r"\w+", folded(text)) if w not in _WORDLESS]
    own = {name: set(re.findall(r"\w+", f"{name} {kind}".casefold())) for name, kind in kinds.items()}
    for mine in own.values():
        mine |= {also for word, also in _ALSO.items() if word in mine}
    known = {word for mine in own.values() for word in mine}
    hits = {hit for word in words if (hit := nearest_word(word, known))}
    if not hits:
        return ()
    most = max(len(hits & mine) for mine in own.values())
    return tuple(name for name, mine in own.items() if len(hits & mine) == most)


def fault_question(plan: Plan, called: Calls, text: str) -> Question | None:
    """What a text asks of something dead or silent; None where it tells of no symptom, or asks for fuses."""
    symptom = symptom_of(text)
    whole = folded(text)
    if symptom is None or whole in called or (re.search(r"\bfuses?\b", whole) and not _BLOWS.search(whole)):
        return None
    text = _WORKS.sub("", whole)
    on = [name for kind, name in meant(called, text) if kind in {Asked.CABLE, Asked.FUSE, Asked.CONNECTOR}]
    devices = _hang_on(plan, on, symptom)
    if not devices:
        devices = suspects(called, {d.name: d.kind for d in plan.job.devices}, text)
    taken = "" if devices else "no device of this job is named in it"
    if devices and not any(kind is Asked.DEVICE for kind, _ in meant(called, text)) and len(devices) <= _MOST:
        told = " and ".join(repr(name) for name in devices)
        taken = f"taken to be about {told}; give the whole name if another is meant"
    return Question(
        things=tuple((Asked.DEVICE, name) for name in devices),
        symptom=symptom,
        focus=Focus.FAULT,
        taken=taken,
    )


def _hang_on(plan: Plan, named: Sequence[str], symptom: Symptom) -> tuple[str, ...]:
    """The devices at the far end of cables, fuses and connectors that are named."""
    found = []
    for name in (n.removeprefix("fuse of ") for n in named):
        if "." in name and any(p.full_name == name for d in plan.job.devices for p in d.ports):
            found.append(plan.job.device_of(name).name)
            continue
        with_it = [s for s in fault_searches(plan) if name in s.cables and s.symptom is symptom]
        ends = [c.cable for c in plan.cables if c.cable.name == name]
        own = {plan.job.device_of(end).name for c in ends for end in (c.from_port, c.to_port)}
        at_end = [s for s in with_it if s.device in own]
        # of a pair it is the speaker that is heard, not what drives it
        found += [s.device for s in sorted(at_end, key=lambda s: not s.through)[:1]]
    return tuple(dict.fromkeys(found))


def fault_answers(plan: Plan, asked: Question) -> list[Answer]:
    """The tests for each device that may be meant; of too many, or of none, which there are."""
    known = fault_searches(plan)
    names = [name for _, name in asked.things]
    searches = [s for s in (_search(known, name, asked.symptom) for name in names) if s is not None]
    if not searches or len(searches) > _MOST:
        listed = searches or [s for s in known if s.symptom is asked.symptom]
        return [Answer(asked=Asked.JOB, name="everything", focus=Focus.FAULT, searches=tuple(listed))]
    return [fault_answer(plan, search) for search in searches]


def _search(known: Sequence[FaultSearch], device: str, symptom: Symptom | None) -> FaultSearch | None:
    """The search for a device: a speaker that is dead is silent, a box without speakers that is silent is dead."""
    own = {s.symptom: s for s in known if s.device == device}
    sound, power = own.get(Symptom.SOUND), own.get(Symptom.POWER)
    if symptom is Symptom.POWER and sound is not None and sound.through:
        return sound
    return own.get(symptom or Symptom.POWER) or power or sound
