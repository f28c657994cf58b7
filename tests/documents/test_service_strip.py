"""Everything out: what the minutes leave out, the clips of each cable; and where a joint lies."""

from __future__ import annotations

import re

from routecut.documents import cut_list_csv
from routecut.documents.cautions import TOPIC_OF, is_near
from routecut.documents.draw_words import room_line
from routecut.documents.markup import html as written
from routecut.documents.pack_service import service
from routecut.documents.pull_words import clips_along, clips_of
from routecut.documents.record_text import fact_text
from routecut.documents.service_short import joints
from routecut.documents.service_strip import strip_sections
from routecut.model.one_more import HoleRoom
from routecut.model.plan import Plan
from routecut.model.record import NO_RECORD, Fact, Kind, Record, RecordLine, What
from routecut.model.service import Answer, Asked


def test_the_clips_are_told_with_each_cable_and_that_their_time_is_not_counted(plan: Plan) -> None:
    told = {s.title: s.lines for s in strip_sections(plan, Answer(asked=Asked.STRIP, name=""))}
    (left,) = told["Not in the minutes of the trim"]
    assert f"opening {len(clips_of(plan))} clips, untying {len(plan.bundles)} bundles, undoing plugs" in left
    for line in told["Then the cables, last in first out; mark what is used again"]:
        clips = len(clips_along(plan, line.partition(":")[0]))
        assert (f"open its {clips} clip" in line) is (clips > 0)


def test_a_joint_says_from_which_end_and_along_what_it_is_measured(plan: Plan) -> None:
    (d1,) = [c.cable for c in plan.cables if c.cable.name == "D1"]
    where = f"along the run from {d1.from_port}, in "
    (planned,) = joints(plan, ["D1"], NO_RECORD)
    assert f"3000 mm {where}" in planned
    assert f"joint 3000 mm {where}" in cut_list_csv(plan)
    assert f"joint 3000 mm {where}" in written(service(plan))
    fact = Fact(what=What.JOINT, kind=Kind.CABLE, name="D1", length_m=2.3, space="cab")
    assert fact_text(fact, plan.job) == f"cable D1: joint 2300 mm {where}cab"
    (built,) = joints(plan, ["D1"], Record(lines=(RecordLine(number=1, fact=fact),)))
    assert built == f"D1 2300 mm {where}cab, by the record"


def test_what_is_near_a_cable_that_is_drawn_out_is_told_with_every_cable_near_it(plan: Plan) -> None:
    told = {s.title: s.lines for s in strip_sections(plan, Answer(asked=Asked.STRIP, name=""))}
    lines = " ".join(told["Mind, where cables are drawn out"])
    near = [
        (keep_out, c.cable.name)
        for keep_out in plan.job.keep_outs
        for c in plan.cables
        if keep_out.reason in TOPIC_OF
        and c.verified is not None
        and is_near(c.verified.least_clearance_m.get(keep_out.name, 9.0), keep_out.clearance_m)
    ]
    assert near
    for keep_out, cable in near:
        assert f"CAUTION {TOPIC_OF[keep_out.reason]}: " in lines
        (own,) = re.findall(rf"{re.escape(keep_out.name)} \(from ([^)]*)\)", lines)
        assert cable in [part.split()[0] for part in own.split(", ")]
    assert len(re.findall(r"\d mm", lines)) == len(near)


def test_a_full_hole_says_what_one_more_would_have_to_keep() -> None:
    """Of one cable 53 % may be filled, of two 31 (NEC chapter 9 table 1): 31 and room for none is no contradiction."""
    full = HoleRoom(hole="gland", filled=0.31, most=0.53, with_one_more=0.4, most_with=0.31, largest_m=0.0)
    assert room_line(full, more=False) == (
        "gland: 31 % filled, at most 53 % as it is; nothing more goes in: with one more, at most 31 % in all"
    )
