"""Job files as a stranger may send them: refused with a reason, quickly, and in few words."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import pytest

from routecut.errors import JobError
from routecut.survey import load_job, survey_job
from routecut.survey.faults import MOST_FAULTS
from routecut.survey.toml_file import LARGEST_JOB_BYTES
from tests.survey.conftest import FULL_JOB, errors

Write = Callable[..., Path]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"title = =\n", "line 1, column 9"),
        (b"a = 1\na = 2\n", "Cannot overwrite a value"),
        (b"\n\ntitle = '\xff'", "byte 12, line 3"),
        (b"a = " + b"[" * 100_000, "nested too deeply"),
        (b"a = 1" + b"0" * 6000, "a number of more than 300 digits"),
        (b"#" * (LARGEST_JOB_BYTES + 1), "larger than 5 MB"),
        (b".".join([b"a"] * 200_000) + b" = 1", "nested too deeply"),
        (b"[[" + b" . ".join([b"a"] * 100_000) + b"]]", "nested too deeply"),
        (b"a = " + b"{ a = " * 5000, "nested too deeply"),
        ("title = 'W\u00e4gen'".encode("latin-1"), "not UTF-8 text: byte 11, line 1. Save it as UTF-8."),
        ("title = 'x'".encode("utf-16"), "Save it as UTF-8"),
        (b"title = 'x'\r", "not valid TOML"),
    ],
)
def test_a_file_that_is_no_job(tmp_path: Path, content: bytes, said: str) -> None:
    (tmp_path / "job.toml").write_bytes(content)
    job, findings = load_job(tmp_path)
    assert job is None
    assert [f.code for f in findings] == ["job-unreadable"]
    assert said in findings[0].message


@pytest.mark.parametrize(
    "change", [lambda raw: b"\xef\xbb\xbf" + raw, lambda raw: raw.replace(b"\n", b"\r\n")]
)
def test_marks_and_line_ends_of_other_editors_do_not_matter(
    write_job: Write, change: Callable[[bytes], bytes]
) -> None:
    folder = write_job()
    plain = load_job(folder)
    (folder / "job.toml").write_bytes(change((folder / "job.toml").read_bytes()))
    assert load_job(folder) == plain


def test_a_text_with_many_dots_is_no_deep_key(write_job: Write) -> None:
    leader = 'description = """\nfrom the front ' + "." * 200 + " to the rear " + ". " * 90 + '\n"""\n'
    job, findings = load_job(write_job(('name = "control-8"\n', 'name = "control-8"\n' + leader)))
    assert job is not None
    assert errors(findings) == []


def test_a_folder_in_the_place_of_the_job(tmp_path: Path) -> None:
    (tmp_path / "job.toml").mkdir()
    assert "is no file" in load_job(tmp_path)[1][0].message


def entries(table: str, count: int, write: Callable[[int], str]) -> str:
    return "".join(f"\n[[{table}]]\n{write(number)}\n" for number in range(count))


BIG: dict[str, tuple[str, str]] = {
    "spaces": (
        entries("space", 20_000, lambda k: f'name = "s{k}"\nbox = [[0, 0, 0], [1, 1, 1]]'),
        "There are 20003 [[space]]; 2000 can be read.",
    ),
    "a list": (
        entries(
            "space", 1, lambda k: f'name = "s"\nbox = [[0, 0, 0], [1, 1, 1]]\nopen_to = {["x"] * 100_000}'
        ),
        "a list of up to 2000 texts",
    ),
    "tape distances": (
        entries("landmark", 1900, lambda k: f'name = "m{k}"\nat = [{k % 50}, {k // 50}, {k % 7}]')
        + '[[landmark]]\nname = "z"\nat = { tape = { '
        + ", ".join(f"m{k} = 500" for k in range(1900))
        + " } }",
        "1900 distances are given; 50 can be used.",
    ),
    "unknown names": (
        entries(
            "cable",
            1500,
            lambda k: f'name = "cable {k}"\nfrom = "devise {k}.p"\nto = "x {k}.p"\nclass = "data"',
        ),
        f"There are more than {MOST_FAULTS} faults",
    ),
    "names to choose from": (
        entries("landmark", 1500, lambda k: f'name = "m{k}"\nat = [{k % 50}, {k // 50}, {k % 7}]')
        + '[[landmark]]\nname = "z"\nat = { tape = { m1 = 500, m2 = 500, mmm = 500 } }',
        "No [[landmark]] is called 'mmm'.",
    ),
    "unknown keys": (
        "".join(f"key{k} = 1\n" for k in range(50_000)),
        f"There are more than {MOST_FAULTS} faults",
    ),
}


@pytest.mark.parametrize("what", BIG)
def test_a_job_without_measure_is_refused_in_little_time_and_few_words(write_job: Write, what: str) -> None:
    """Each of these took minutes or hours, or answered with megabytes."""
    more, said = BIG[what]
    began = time.monotonic()
    _, findings = load_job(write_job(text=FULL_JOB + more))
    assert time.monotonic() - began < 20.0
    assert any(said in f.message for f in errors(findings))
    assert len(errors(findings)) <= MOST_FAULTS + 1
    assert max(len(f.message) + len(f.allowed) for f in findings) < 3000


@pytest.mark.parametrize(
    ("slip", "by"),
    [
        ('termination = "ring M6"', "terminatoin = 6"),  # a port that a cable ends at is left out
        ('name = "positive"', 'name = "positive"\nservice_loop = "long"'),
        ('space = "engine bay"\n[[device.port]]', 'space = "engine"\n[[device.port]]'),
    ],
)
def test_a_slip_in_a_device_is_told_where_the_mesh_is_good(write_job: Write, slip: str, by: str) -> None:
    """Ended in a traceback once: the cables of a device that was left out were looked at all the same."""
    with pytest.raises(JobError) as refused:
        survey_job(write_job((slip, by)))
    assert all("[[device]]" in f.table for f in errors(refused.value.findings))


def test_dates_are_quoted_as_they_are_written(write_job: Write) -> None:
    _, findings = load_job(write_job(("stand_off = 10", "stand_off = 1979-05-27")))
    assert errors(findings)[0].found == "1979-05-27"
