"""What says the same of several things is told once, and names every one of them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routecut.cli.printing import grouped
from routecut.documents.alike import joined, together
from routecut.documents.pack_back import findings
from routecut.documents.summary import summary_text
from routecut.model.finding import Finding, Severity
from tests.documents import sample

NAMES = st.lists(st.text('abc 12",;', min_size=1, max_size=8), min_size=1, max_size=6)


def found(where: str, message: str = "Look.", severity: Severity = Severity.WARNING) -> Finding:
    return Finding(code="keep-out-unconfirmed", severity=severity, where=where, message=message)


@pytest.mark.parametrize(
    ("places", "told"),
    [
        (["cable P1"], "cable P1"),
        (["cable P1", "cable P1"], "cable P1"),
        (["cable P1", "cable P2", "cable C10"], "cable P1, P2, C10"),
        (['[[hole]] "a b", at', '[[hole]] "a c", at', '[[hole]] "d", at'], '[[hole]] "a b", "a c", "d", at'),
        (['[[hole]] "a", at', '[[hole]] "a", axis'], '[[hole]] "a", at, axis'),
        (['[[hole]] "a", at', "cable P1"], '[[hole]] "a", at, cable P1'),
        (['x "a"', 'x "b" y'], 'x "a"; x "b" y'),
    ],
)
def test_names_are_joined_with_what_they_share_said_once(places: list[str], told: str) -> None:
    assert joined(places) == told


@given(NAMES)
def test_no_name_is_lost(names: list[str]) -> None:
    told = joined([f'job.toml, [[keep_out]] "{name}", confirmed' for name in names])
    assert all(f'"{name}"' in told for name in names)
    plain = joined([f"cable {name}" for name in names])
    assert all(name.split(" ")[-1] in plain for name in names)


@given(
    st.lists(
        st.tuples(st.sampled_from("abc"), st.sampled_from(["Look.", "Touch."]), st.sampled_from(Severity))
    )
)
def test_only_what_says_the_same_is_put_together(given: list[tuple[str, str, Severity]]) -> None:
    all_of_them = [found(f"cable {name}", message, severity) for name, message, severity in given]
    told = together(all_of_them)
    says = [(f.severity, f.message) for f in told]
    assert says == list(dict.fromkeys((f.severity, f.message) for f in all_of_them))
    for one in told:
        alike = [f for f in all_of_them if (f.severity, f.message) == (one.severity, one.message)]
        meant = {f.where.removeprefix("cable ") for f in alike}
        assert set(one.where.removeprefix("cable ").split(", ")) == meant


def test_terminal_and_pack_tell_it_once_and_count_them_all() -> None:
    alike = tuple(found(f'job.toml, [[keep_out]] "hose {k}", confirmed') for k in range(26))
    told = 'job.toml, [[keep_out]] "hose 0", "hose 1", "hose 2"'
    lines = grouped([*alike, found("cable P1", "Something else.")])
    assert lines[0] == "2 warnings (27 places)"
    assert len(lines) == 3
    assert lines[1].lstrip().startswith(told)
    planned = replace(sample.plan(), findings=alike)
    lines = [line for line in summary_text(planned).splitlines() if "hose" in line]
    assert len(lines) == 1
    assert told in lines[0]
    assert "1 warning (26 places)" in summary_text(planned)
    page = findings(planned)
    rows = [row for row in page.iter("tr") if "hose" in "".join(row.itertext())]
    assert len(rows) == 1
    assert "1 warning (26 places)" in "".join(page.itertext())


def unconfirmed(name: str, about: str) -> Finding:
    table = f'[[keep_out]] "{name}"'
    where = f"job.toml, {table}, confirmed"
    parts = {"file": "job.toml", "table": table, "key": "confirmed", "about": about}
    message = f"Check this one: is it where the job says ({about})?"
    return Finding(
        code="keep-out-unconfirmed", severity=Severity.WARNING, where=where, message=message, **parts
    )


def test_what_is_asked_of_all_is_asked_once_and_each_says_what_it_is() -> None:
    given = [
        unconfirmed("exhaust 1", "hot"),
        unconfirmed("fuel tank", "fuel"),
        unconfirmed("exhaust 2", "hot"),
    ]
    (told,) = together(given)
    assert told.where == 'job.toml, [[keep_out]] "exhaust 1", "exhaust 2" (hot); "fuel tank" (fuel)'
    assert told.message.startswith("Check these on the vehicle: is each where the job says")
    assert grouped(given)[0] == "1 warning (3 places)"
    assert together(given[:1]) == [given[0]], "one alone keeps its own sentence"
