"""The list of keys is whole, and the page on the job file says the same of them."""

import re
import tomllib

from tests.docs.job_keys import EVERY_KEY, job_keys
from tests.docs.pages import TOP
from tests.survey.test_documented import keys_read

PROSE = (TOP / "docs" / "job-format.md").read_text(encoding="utf-8")
PAGE = (TOP / "docs" / "job-keys.md").read_text(encoding="utf-8")


def test_every_key_that_stands_in_the_reader_is_listed() -> None:
    assert keys_read() - {name for _, name in job_keys()} == set()


def test_the_job_with_every_key_has_no_key_that_the_reader_does_not_know() -> None:
    known = {name for _, name in job_keys()} | {"a", "b"}  # landmarks of its tape

    def names(value: object) -> set[str]:
        if isinstance(value, dict):
            return set(value) | {n for inner in value.values() for n in names(inner)}
        return {n for inner in value for n in names(inner)} if isinstance(value, list) else set()

    assert names(tomllib.loads(EVERY_KEY)) - known == set()


def test_each_listed_key_says_what_is_wanted_and_what_holds_without_it() -> None:
    rows = re.findall(r"(?m)^\| `(\w+)` \| (.*?) \| (.*?) \|$", PAGE)
    assert len(rows) > 110
    assert [name for name, wanted, without in rows if not wanted.strip() or not without.strip()] == []


def test_what_is_required_is_what_a_job_without_it_is_refused_for() -> None:
    required = {(table, name) for (table, name), key in job_keys().items() if key.required}
    assert {
        ("", "length_unit"),
        ("[vehicle]", "mesh"),
        ("[[cable]]", "from"),
        ("[[stock]]", "type"),
    } <= required
    assert not {"title", "clearance", "surplus", "kind"} & {n for t, n in required if t != "[[surface]]"}


def test_ranges_and_defaults_on_the_page_of_the_job_file_are_those_of_the_list() -> None:
    """Rows of the last table of that page, which has a column for each."""
    keys = {name: key for (table, name), key in job_keys().items() if table in {
        "[routing]", "[lengths]", "[drilling]", "[service]"}}  # fmt: skip
    rows = re.findall(r"(?m)^\|[^|]*\| `(\w+)` \|[^|]*\| ([^|]+) \| [^|]+ \|$", PROSE)
    compared = 0
    for name, default in rows:
        figure = re.match(r"[\d.]+", default)
        if name in keys and figure is not None:
            assert float(figure[0]) == float(re.sub("[^0-9.]", "", keys[name].default)), name
            compared += 1
    assert compared > 14
