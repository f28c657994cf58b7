"""Lines of the record as facts about a job, and back: every value checked, every name known.

Stage      records, above the journal
Units      in the file as the user wrote them, each with its unit; out m, V, W, ohm
Safe side  a line about something the job does not have any more is not used, and is said
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from routecut.model.job import CableClass, Job, Position
from routecut.model.record import NOT_GIVEN, WHOLE_JOB, Fact, Kind, What
from routecut.plain import nearest_name, shown
from routecut.survey.faults import Collector, listed
from routecut.survey.positions import Places, as_position
from routecut.survey.toml_fields import Fields
from routecut.tables import cable_types

MOST_TEXT: Final = 2000
"""Letters of a note or a serial number."""

MOST_WORDS: Final = 200
"""Letters of who and when."""

MOST_SHORT_M: Final = 10.0
"""So much too short may a cable have been. [m]"""

_KINDS: Final[Mapping[What, tuple[Kind, ...]]] = {
    What.CUT: (Kind.CABLE,),
    What.LEFT_OVER: (Kind.CABLE,),
    What.MOVED: (Kind.DEVICE, Kind.HOLE),
    What.JOINT: (Kind.CABLE,),
    What.STRING: (Kind.CABLE,),
    What.SWAPPED: (Kind.CABLE, Kind.DEVICE),
    What.VOLTS: (Kind.DEVICE, Kind.CABLE),
    What.POWER: (Kind.CABLE,),
    What.RESISTANCE: (Kind.CABLE,),
    What.SERIAL: (Kind.DEVICE,),
    What.PHOTO: tuple(Kind),
    What.NOTE: tuple(Kind),
}

_CLASSES: Final[Mapping[What, tuple[CableClass, ...]]] = {
    What.VOLTS: (CableClass.POWER,),
    What.POWER: (CableClass.COAX,),
    What.RESISTANCE: (CableClass.POWER, CableClass.BOND),
}


@dataclass(frozen=True, slots=True)
class Known:
    """The names of a job, by kind, and what positions may be taped from."""

    job: Job
    names: Mapping[Kind, tuple[str, ...]] = field(default_factory=dict)

    @classmethod
    def of(cls, job: Job) -> Known:
        """All there is to be told of in a job."""
        return cls(
            job,
            {
                Kind.CABLE: tuple(c.name for c in job.cables),
                Kind.DEVICE: tuple(d.name for d in job.devices),
                Kind.HOLE: tuple(h.name for h in job.pass_throughs),
                Kind.SPACE: tuple(s.name for s in job.spaces),
                Kind.JOB: (WHOLE_JOB,),
            },
        )

    def of_what(self, what: What) -> dict[Kind, tuple[str, ...]]:
        """The names a line of that sort may be about."""
        found = {kind: self.names[kind] for kind in _KINDS[what]}
        classes = _CLASSES.get(what)
        if classes is not None:
            found[Kind.CABLE] = tuple(c.name for c in self.job.cables if c.cable_class in classes)
        return found

    def kind_of(self, what: What, name: str) -> tuple[Kind, ...]:
        """What a name can be; none or several are for the caller to say."""
        return tuple(kind for kind, names in self.of_what(what).items() if name in names)

    def fields(self, table: Mapping[str, Any], label: str, collector: Collector) -> Fields:
        """A line ready to be read; points are read off the mesh as those of the job are."""
        fields = Fields(table, label, collector, self.job.length_unit)
        fields.scale = self.job.vehicle.mesh_scale
        return fields

    @property
    def places(self) -> Places:
        """Landmarks to tape from."""
        return Places(
            sigma_m=self.job.vehicle.point_error_m or 0.005,
            landmarks={m.name: m.position for m in self.job.landmarks},
        )


def read_fact(fields: Fields, known: Known) -> Fact | None:
    """The fact a line tells; None after a fault, which is reported.

    Parameters
    ----------
    fields : Fields
        Of the line; keys that nobody asks for are faults.
    known : Known
    """
    for key in ("line", "who", "when", "remark", "corrects", "previous"):
        fields.has(key)
    _check_corrects(fields)
    what = fields.word("what", What)
    if not fields.sound:
        return None
    if what is What.WITHDRAWN:
        fields.has("kind"), fields.has("name")
        fields.finish()
        return Fact(what=what, kind=Kind.JOB, name=WHOLE_JOB) if fields.sound else None
    name, kind = fields.text("name"), fields.word("kind", Kind)
    if fields.sound:
        _require_known(fields, known, what, kind, name)
    fact = Fact(what=what, kind=kind, name=name)
    fact = _values(fields, known, fact)
    fields.finish()
    return fact if fields.sound else None


def _check_corrects(fields: Fields) -> None:
    """A line stands in place of one before it; one that is taken back is named."""
    corrects, line = fields.data.get("corrects"), fields.data.get("line")
    if "line" not in fields.data:
        return  # not written yet
    wanted = "the number of a line before it"
    if corrects is None:
        if fields.data.get("what") == What.WITHDRAWN.value:
            fields.fault(
                "missing-key", "corrects", f"corrects is missing; wanted is {wanted}.", allowed=wanted
            )
    elif (
        not isinstance(line, int)
        or not isinstance(corrects, int)
        or isinstance(corrects, bool)
        or not 0 < corrects < line
    ):
        fields.fault(
            "out-of-range",
            "corrects",
            f"corrects is {shown(corrects)}; wanted is {wanted}.",
            found=corrects,
            allowed=wanted,
        )


def _require_known(fields: Fields, known: Known, what: What, kind: Kind, name: str) -> None:
    names = known.of_what(what).get(kind, ())
    if name in names:
        return
    every = [n for some in known.of_what(what).values() for n in some]
    kinds = " or ".join(k.value for k in known.of_what(what))
    fields.fault(
        "unknown-name",
        "name",
        f"{shown(name)} is no {kinds} of this job{_of_class(what)}.",
        found=name,
        allowed=listed(every) or "the job has none",
        nearest=nearest_name(name, every),
    )


def _of_class(what: What) -> str:
    classes = _CLASSES.get(what)
    return "" if classes is None else f" that has such a reading (cables of class {' or '.join(classes)})"


def _values(fields: Fields, known: Known, fact: Fact) -> Fact:
    match fact.what:
        case What.CUT:
            return replace(fact, length_m=fields.length("length", above=True))
        case What.LEFT_OVER:
            return replace(fact, length_m=fields.length("length", low_m=-MOST_SHORT_M))
        case What.JOINT:
            space = fields.text("space", "")
            if space and space not in known.names[Kind.SPACE]:
                _unknown(fields, "space", space, known.names[Kind.SPACE])
            return replace(fact, length_m=fields.length("length"), space=space)
        case What.STRING:
            return _string(fields, known, fact)
        case What.MOVED:
            position: Position | None = None
            if fields.has("at"):
                position = as_position(fields, known.places, "at", fields.take("at"))
            else:
                fields.require("at", "a position")
            return replace(fact, position=position)
        case What.SWAPPED:
            return replace(fact, fitted=_fitted(fields, known, fact))
        case What.VOLTS:
            peak = fields.number("peak", high=1000.0, what="V")
            return replace(fact, peak=peak, duty=fields.optional_number("duty", high=1000.0, what="V"))
        case What.POWER:
            return replace(
                fact,
                forward=fields.number("forward", high=10_000.0, above=True, what="W"),
                reflected=fields.number("reflected", high=10_000.0, what="W"),
            )
        case What.RESISTANCE:
            return replace(fact, ohm=fields.number("milliohm", high=1e6, what="milliohm") / 1000.0)
        case What.PHOTO:
            return replace(fact, file=fields.text("file"), sha256=fields.text("sha256"))
        case _:
            return replace(fact, text=_text(fields))


def _text(fields: Fields) -> str:
    text = fields.text("text")
    if len(text) > MOST_TEXT or (fields.sound and not text.strip()):
        fields.fault(
            "out-of-range", "text", f"text has {len(text)} letters.", allowed=f"1 to {MOST_TEXT} letters"
        )
    return text


def _string(fields: Fields, known: Known, fact: Fact) -> Fact:
    start, end = fields.text("from"), fields.text("to")
    places = places_of(known.job, fact.name)
    for key, name in (("from", start), ("to", end)):
        if name and places and name not in places:
            _unknown(fields, key, name, places)
    if start and start == end:
        fields.fault("not-allowed", "to", "from and to are the same place.", found=end)
    return replace(fact, from_name=start, to_name=end, length_m=fields.length("length", above=True))


def places_of(job: Job, cable_name: str) -> tuple[str, ...]:
    """Where a string along a cable may begin and end: its ports and every hole; empty for no cable."""
    cable = next((c for c in job.cables if c.name == cable_name), None)
    if cable is None:
        return ()
    return (cable.from_port, cable.to_port, *(h.name for h in job.pass_throughs))


def _fitted(fields: Fields, known: Known, fact: Fact) -> str:
    fitted = fields.name("for")
    cable = next((c for c in known.job.cables if c.name == fact.name), None)
    if not fitted or cable is None or fact.kind is not Kind.CABLE:
        return fitted
    types = {**cable_types(), **{t.name: t for t in known.job.cable_types}}
    if fitted not in types:
        _unknown(fields, "for", fitted, sorted(types), said="in the job or in the catalogue")
    elif types[fitted].cable_class is not cable.cable_class:
        fields.fault(
            "not-allowed",
            "for",
            f"{fitted!r} is of class {types[fitted].cable_class.value!r}, {cable.name} of class "
            f"{cable.cable_class.value!r}.",
            found=fitted,
            allowed=listed(n for n, t in types.items() if t.cable_class is cable.cable_class),
        )
    return fitted


def _unknown(
    fields: Fields, key: str, name: str, names: tuple[str, ...] | list[str], *, said: str = "here"
) -> None:
    fields.fault(
        "unknown-name",
        key,
        f"Nothing {said} is called {shown(name)}.",
        found=name,
        allowed=listed(names),
        nearest=nearest_name(name, names),
    )


def said_by(table: Mapping[str, Any]) -> tuple[str, str, str, int | None]:
    """Who, when, remark, each as far as it may be long, and the line that is corrected, of a line that is whole."""

    def text(key: str, most: int, default: str) -> str:
        value = table.get(key)
        if not isinstance(value, str) or not value:
            return default
        return value if len(value) <= most else f"{value[:most]}..."

    corrects = table.get("corrects")
    return (
        text("who", MOST_WORDS, NOT_GIVEN),
        text("when", MOST_WORDS, NOT_GIVEN),
        text("remark", MOST_TEXT, ""),
        corrects if isinstance(corrects, int) and not isinstance(corrects, bool) else None,
    )
