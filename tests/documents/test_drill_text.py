"""The drill study in words: what a reader could not make out without them."""

from __future__ import annotations

import re

from routecut.documents import study_text
from routecut.model.drilling import ChoiceRow, DrillStudy, Place
from tests.drilling.cards import card, plan_of


def row(new: tuple[str, ...], length_m: float, price_m: float) -> ChoiceRow:
    return ChoiceRow(
        most_new=len(new),
        new=new,
        ways={"C1": new},
        lengths_m={"C1": length_m},
        unreached=(),
        price_m=price_m,
        optimal=True,
    )


def place(name: str, y_m: float) -> Place:
    return Place(
        name=name,
        found=True,
        at_m=(1.0, y_m, 0.6),
        axis=(1.0, 0.0, 0.0),
        depth_m=0.0,
        diameter_m=0.016,
        joins=("cab", "load area"),
        parts=("partition",),
    )


STUDY = DrillStudy(
    rows=(row((), 3.0, 3.0), row(("place 2",), 2.6, 5.1)),
    best=0,
    others=(),
    places=(place("place 1", 0.1), place("place 2", -0.25)),
)


def test_a_place_that_is_named_and_not_chosen_is_said_where_it_is() -> None:
    lines = study_text(STUDY, plan_of(card()), asked=plan_of(card()).job).splitlines()
    assert "> no new hole; about 3.0 m of cable" in lines
    assert "  1 new hole: place 2; about 2.6 m of cable" in lines
    where = "is at 1000, -250, 600 mm on partition, between cab and load area; nobody has looked at it yet."
    assert f"  place 2 {where}" in lines
    assert not any("place 1 is at" in line for line in lines)


def test_places_looked_at_are_counted_where_there_were_any() -> None:
    looked = DrillStudy(rows=STUDY.rows, best=0, others=(), places=(), looked_at=40, kept=3)
    said = study_text(looked, plan_of(card()), asked=plan_of(card()).job)
    assert "Looked at 40 points of the panels; at 3 a hole would keep its distances." in said
    assert "No place was looked for" not in said


def test_what_doing_without_costs_is_not_mistaken_for_cable_alone() -> None:
    study = DrillStudy(rows=STUDY.rows, best=1, others=(("place 2", 0.151),), places=STUDY.places)
    text = study_text(study, plan_of(card()), asked=plan_of(card()).job)
    assert (
        "Every choice without place 2 costs at least the worth of 151 mm of cable more (hole_cost counted for each "
        "new hole)." in text
    )
    assert "place 2 is at" not in text


def test_every_caution_of_a_card_is_spelled_out_once() -> None:
    plan = plan_of(card())
    study = DrillStudy(rows=STUDY.rows, best=0, others=(), places=(), cards=plan.drilling)
    text = study_text(study, plan, asked=plan.job)
    topics = set(re.findall(r"^  CAUTION    ([a-z ]+)", text, re.MULTILINE))
    assert topics
    for topic in topics | {"drilling"}:
        assert len(re.findall(rf"^CAUTION {topic}: \S.{{20,}}$", text, re.MULTILINE)) == 1
