"""Picked entries are named with single keys; what has no fault is what `add` takes."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from routecut.documents import picks_toml
from routecut.errors import RoutecutError
from routecut.model.job import Job
from routecut.scene import Picked
from routecut.scene.naming import LONGEST_NAME, Naming, fault, faults, fields, letter
from routecut.scene.tagging import TAG_KINDS, Tagger
from routecut.survey import add_to_job, load_job

JOB = """title = "yard"
length_unit = "{unit}"
[vehicle]
mesh = "body.ply"
mesh_unit = "m"
axes = "+x rear, +y right, +z up"
[[space]]
name = "cab"
box = [[-1, -1, -1], [1, 1, 0]]
[[space]]
name = "load area"
box = [[-1, -1, 0], [1, 1, 1]]
[[space]]
name = "cabinet"
box = [[1, -1, 0], [2, 1, 1]]
[[landmark]]
name = "corner"
at = [0, 0, 0]
[[device]]
name = "radio"
at = [0, 0, 0.1]
space = "load area"
[[device.port]]
name = "power"
"""
PLACES = {
    "landmark": [(0.1, 0.2, 0.0)],
    "port": [(0.1, 0.2, 0.1)],
    "rim": [(0.02, 0.0, 0.0), (-0.02, 0.0, 0.0), (0.0, 0.02, 0.0)],
    "hole": [(5.0, 5.0, 5.0)],  # in no space: these have to be said
    "keep_out": [(0.1, 0.1, 0.1), (0.3, 0.4, 0.5)],
    "hinge": [(0.1, 0.1, 0.1), (0.1, 0.1, 0.6)],
}


def yard(folder: Path, unit: str = "m") -> Job:
    (folder / "job.toml").write_text(JOB.replace("{unit}", unit), encoding="utf-8")
    (folder / "body.ply").write_bytes(b"ply")
    job = load_job(folder)[0]
    assert job is not None
    return job


@pytest.fixture
def job(tmp_path: Path) -> Job:
    return yard(tmp_path)


def tap(tagger: Tagger, kind: str) -> None:
    tagger.choose(kind)
    for at in PLACES[kind]:
        tagger.tap(Picked(at_m=at, part="shell", normal=(0.0, 0.0, 1.0)))


def keys(naming: Naming, *words: str) -> None:
    """Each word typed and entered."""
    for word in words:
        for character in word:
            assert naming.key(character, character)
        assert naming.key("Return", "")


def test_every_kind_gets_its_name_and_all_else_it_needs(job: Job) -> None:
    tagger = Tagger(job)
    naming = Naming(tagger)
    said = {
        "landmark": ["left striker"],
        "port": ["radio", "aerial", "load"],
        "rim": ["bulkhead left", "27.5 mm", "cand", "2", "cab"],
        "hole": ["", "1 1/8 in", "", "cab", "load area"],
        "keep_out": ["seat", "moving"],
        "hinge": ["rear door"],
    }
    for kind in TAG_KINDS:
        tap(tagger, kind.key)
        keys(naming, "", *said[kind.key])
        assert not naming.on, kind.key
        assert naming.prompt.endswith("named")
    rim, hole = tagger.tags[2], tagger.tags[3]
    assert rim.values["diameter"] == pytest.approx(0.0275)
    said_of = [rim.values[key] for key in ("name", "state", "first", "second")]
    assert said_of == ["bulkhead left", "candidate", "load area", "cab"]
    assert hole.values["name"] == "hole 1"
    assert hole.values["diameter"] == pytest.approx(1.125 * 0.0254)
    assert tagger.tags[1].values["space"] == "load area"
    assert tagger.tags[4].values["reason"] == "moving"
    (job.folder / "picks.toml").write_text(picks_toml(job, "", tagger.tags), encoding="utf-8")
    assert faults(tagger.tags, job) == []
    assert len(add_to_job(job.folder, job.folder / "picks.toml").added) == 6


def test_what_is_asked_shows_what_stands_and_what_can_be_said(job: Job) -> None:
    tagger = Tagger(job)
    naming = Naming(tagger)
    tap(tagger, "rim")
    keys(naming, "")
    assert naming.prompt.splitlines()[0] == "hole 1 - name [hole 1]: _"
    keys(naming, "gland")
    naming.key("3", "3")
    assert naming.prompt.splitlines()[0] == "gland - diameter, m [0.04]: 3_"
    naming.key("BackSpace", "")
    keys(naming, "", "")
    assert naming.prompt.splitlines()[0] == "gland - joins (1 cab, 2 load area, 3 cabinet) [cab]: _"
    keys(naming, "cab")  # also the beginning of the third: what is written whole is meant
    assert naming.prompt.splitlines()[0].startswith("gland - joins cab and (")
    naming.key("Escape", "")
    assert naming.prompt == "gland: named"


@pytest.mark.parametrize(
    ("place", "typed", "told"),
    [(1, "0", "above 0"), (1, "-3", "above 0"), (1, "wide", "is not a length"), (2, "x", "none of these"),
     (3, "9", "none of these"), (3, "ca", "none of these"), (3, "0", "none of these")],
)  # fmt: skip
def test_what_cannot_be_is_told_and_asked_again(job: Job, place: int, typed: str, told: str) -> None:
    tagger = Tagger(job)
    naming = Naming(tagger)
    tap(tagger, "rim")
    keys(naming, "", *[""] * place)
    before = dict(tagger.tags[0].values)
    keys(naming, typed)
    assert told in naming.prompt
    assert naming.on
    assert naming.place == place
    assert tagger.tags[0].values == before


def test_other_picks_are_gone_to_and_taken_back(job: Job) -> None:
    tagger = Tagger(job)
    naming = Naming(tagger)
    for kind in ("Return", "Delete"):
        assert naming.key(kind, "")
        assert naming.prompt == "Nothing is picked yet."
    assert not naming.key("q", "q")  # the window's own
    for kind in ("landmark", "hinge", "keep_out"):
        tap(tagger, kind)
    keys(naming, "")
    for _ in range(5):
        naming.key("Prior", "")
    keys(naming, "bolt")
    assert tagger.tags[0].values["name"] == "bolt"
    keys(naming, "")
    naming.key("Prior", "")
    naming.key("Next", "")
    naming.key("Prior", "")
    naming.key("Delete", "")
    assert [t.kind for t in tagger.tags] == ["landmark", "keep_out"]
    tagger.choose("hinge")
    tagger.tap(Picked(at_m=(0.0, 0.0, 0.0), part="shell", normal=(0.0, 0.0, 1.0)))
    naming.key("Delete", "")  # first the tap that waits for another
    assert (len(tagger.tags), len(tagger.pending)) == (2, 0)
    naming.key("Delete", "")
    assert [t.kind for t in tagger.tags] == ["landmark"]


def test_what_add_would_refuse_is_told_with_its_name(job: Job) -> None:
    tagger = Tagger(job)
    tap(tagger, "landmark")
    tap(tagger, "landmark")
    tap(tagger, "hole")
    tap(tagger, "port")
    landmark, other, hole, port = tagger.tags
    hole.values["first"] = hole.values["second"] = ""
    port.values["space"] = ""
    assert faults(tagger.tags, job) == [
        "hole 1: Say which spaces it joins.", "device 1: Say which space it is in.",
    ]  # fmt: skip
    hole.values["first"] = hole.values["second"] = job.spaces[0].name
    assert fault(hole, tagger.tags, job).startswith("It joins a space with itself")
    port.values["device"] = "radio"
    landmark.values["name"], other.values["name"] = "corner", " "
    assert fault(landmark, tagger.tags, job) == "The job has this name already."
    assert fault(other, tagger.tags, job) == "It needs a name."
    assert fault(port, tagger.tags, job) == ""
    other.values["name"] = "corner"
    assert fault(other, tagger.tags, job) == "This name is picked twice."


@pytest.mark.parametrize(
    ("key", "code", "char"),
    [("a", "a", "a"), ("ssharp", chr(0xC3), "ß"), ("Eacute", chr(0xC3), "É"), ("aring", "", "å"),
     ("xacute", "x", "x"), ("F1", chr(0), ""), ("Tab", "\t", ""), ("", "", ""), ("eacute", "é", "é")],
)  # fmt: skip
def test_letters_beyond_ascii_come_by_the_name_of_their_key(key: str, code: str, char: str) -> None:
    assert letter(key, code) == char


NAMED = st.sampled_from(["Return", "Escape", "Delete", "BackSpace", "Prior", "Next", "Up", "F1"])
TYPED = st.sampled_from(list('cabld 12"\\.\u00e4<#'))
ACT = st.one_of(
    st.sampled_from([k.key for k in TAG_KINDS]).map(lambda kind: ("tap", kind)),
    NAMED.map(lambda key: ("key", key)),
    TYPED.map(lambda char: ("char", char)),
    st.sampled_from(["corner", "radio", "a"]).map(lambda name: ("name", name)),
    st.just(("joins", "the same twice")),
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(acts=st.lists(ACT, max_size=40), unit=st.sampled_from(["mm", "in"]))
def test_whatever_is_pressed_what_has_no_fault_is_what_add_takes(
    tmp_path: Path, acts: list[tuple[str, str]], unit: str
) -> None:
    job = yard(tmp_path, unit)
    tagger = Tagger(job)
    naming = Naming(tagger)
    for act, what in acts:
        if act == "tap":
            naming.leave()
            tap(tagger, what)
        elif act == "joins":
            for tag in (tag for tag in tagger.tags if "state" in tag.values):
                tag.values["second"] = tag.values["first"]
        elif act == "name":
            naming.leave()
            keys(naming, "", what) if tagger.tags else None
        else:
            naming.key(what, what if act == "char" else "")
        assert len(naming.typed) <= LONGEST_NAME
        assert naming.on <= bool(tagger.tags)
        assert naming.prompt or not naming.on
    text = picks_toml(job, "", tagger.tags)
    tomllib.loads(text)
    for tag in tagger.tags:
        assert all(field.key in tag.values for field in fields(tag, job))
    if not tagger.tags:
        return
    (tmp_path / "picks.toml").write_text(text, encoding="utf-8")
    told = faults(tagger.tags, job)
    try:
        add_to_job(tmp_path, tmp_path / "picks.toml")
        taken = True
    except RoutecutError:
        taken = False
    assert taken == (not told), told
