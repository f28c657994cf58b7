"""Entries added to a job: nothing that is there is lost, every clash is said, all at once."""

from __future__ import annotations

import inspect
import re
import tomllib
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import given, settings
from hypothesis import strategies as st

from routecut.errors import JobError
from routecut.model.finding import Severity
from routecut.survey import read_fitout, read_room
from routecut.survey.additions import KINDS, add_to_job
from routecut.survey.job_reader import job_from
from routecut.survey.own_unit import LENGTHS, with_own_unit
from routecut.survey.toml_places import Entry, PlaceError, entries_of, is_whole_in, with_entry
from routecut.units import UNIT_NAMES
from tests.survey.conftest import FULL_JOB

NEW = Entry(body='name = "new" # mine\nat = [1, 2, 3]\n', data={"name": "new", "at": [1, 2, 3]})

# --- any TOML file -----------------------------------------------------------------------------

comments = st.sampled_from(["# why", "   # [[landmark]]", '# "quoted" = x', "#", "# --- Holes ---", "# ä€𐍈"])
blanks = st.sampled_from(["", "  ", "\t"])
values = st.sampled_from(
    [
        "1",
        "-0.0",
        "nan",
        "true",
        "[1, 2, # three\n  3]",
        "[\n  # first\n  [1, 2],\n]",
        '"""\n[[landmark]]\nname = "not one"\n# not a comment\n"""',
        "'''\n[[device.port]]\n'''",
        "{ x = 1, y = [2] }",
        "1979-05-27T07:32:00Z",
        r'"\u00e4 \" # no comment"',
    ]
)
arrays = st.sampled_from(["landmark", "device", "hinge", "keep_out"])


@st.composite
def toml_texts(draw: st.DrawFn) -> str:
    """A file as people write them: comments everywhere, arrays of tables mixed, both kinds of line ends."""
    lines: list[str] = []
    number = 0

    def about() -> None:
        lines.extend(draw(st.lists(st.one_of(comments, blanks), max_size=3)))

    def keys() -> None:
        nonlocal number
        for _ in range(draw(st.integers(0, 3))):
            number += 1
            tail = draw(st.sampled_from(["", " # tail", "\t#"]))
            lines.append(f"{draw(blanks)}k{number} = {draw(values)}{tail}")
            about()

    about()
    keys()
    for _ in range(draw(st.integers(0, 6))):
        about()
        kind = draw(st.sampled_from(["table", "landmark", "device", "hinge", "keep_out"]))
        if kind == "table":
            number += 1
            lines.append(f"[t{number}.'a.b']" + draw(st.sampled_from(["", "  # tail"])))
        else:
            lines.append(draw(st.sampled_from(["[[{}]]", "  [[ {} ]] # tail", '[["{}"]]'])).format(kind))
        keys()
        if kind == "device":
            for _ in range(draw(st.integers(0, 2))):
                about()
                lines.append("[[device.port]]")
                keys()
    about()
    text = "\n".join(lines) + draw(st.sampled_from(["", "\n", "\n\n"]))
    if draw(st.booleans()):
        text = text.replace("\n", "\r\n")
    tomllib.loads(text)
    return text


def first(item: tuple[str, Any]) -> str:
    return item[0]


def comment_lines(text: str) -> list[str]:
    return [line.rstrip("\r") for line in text.split("\n") if "#" in line]


@settings(max_examples=100, deadline=None)
@given(text=toml_texts(), kind=arrays, entries=st.integers(1, 3))
def test_what_is_added_is_all_that_changes(text: str, kind: str, entries: int) -> None:
    grown = text
    for number in range(entries):
        data = {"name": f"new {number}", "at": [number, 2, 3]}
        body = f'# picked\nname = "new {number}" # mine\nat = [{number}, 2, 3]\n'
        before = grown
        grown = with_entry(before, (kind,), Entry(body=body, data=data, above="# above\n"))
        # byte by byte: the old text, cut at one place
        assert is_whole_in(before, grown)
        assert len(grown.encode()) > len(before.encode())
    old, new = tomllib.loads(text), tomllib.loads(grown)
    assert [e["name"] for e in new[kind][-entries:]] == [f"new {k}" for k in range(entries)]
    new[kind] = new[kind][:-entries]
    if not new[kind]:
        del new[kind]
    assert repr(sorted(new.items(), key=first)) == repr(
        sorted(old.items(), key=first)
    )  # nan never equals itself
    left = comment_lines(grown)
    for line in comment_lines(text):
        left.remove(line)  # raises when one is lost
    if "\r\n" in text:
        assert "\n" not in grown.replace("\r\n", "")


@settings(max_examples=50, deadline=None)
@given(text=toml_texts(), data=st.data())
def test_a_port_goes_to_its_own_device(text: str, data: st.DataObject) -> None:
    devices = tomllib.loads(text).get("device", [])
    if not devices:
        return
    of = data.draw(st.integers(0, len(devices) - 1))
    grown = with_entry(text, ("device", "port"), NEW, of=of)
    assert is_whole_in(text, grown)
    after = tomllib.loads(grown)["device"]
    assert after[of]["port"][-1] == NEW.data
    after[of]["port"].pop()
    # as text: nan never equals itself
    assert repr([d.get("port", []) for d in after]) == repr([d.get("port", []) for d in devices])


def test_it_goes_after_the_last_of_its_kind_and_above_what_leads_over_to_the_next() -> None:
    text = '[[landmark]]\nname = "a"\n# mine\n\n# --- Holes ---\n[[pass_through]]\nname = "h"\n'
    assert with_entry(text, ("landmark",), NEW) == (
        '[[landmark]]\nname = "a"\n# mine\n\n[[landmark]]\nname = "new" # mine\nat = [1, 2, 3]\n\n'
        '# --- Holes ---\n[[pass_through]]\nname = "h"\n'
    )


def test_an_array_in_brackets_is_added_to_in_brackets() -> None:
    text = 'landmark = [ { name = "a" } ] # here\n[routing]\n'
    grown = with_entry(text, ("landmark",), NEW)
    assert is_whole_in(text, grown)
    assert [e["name"] for e in tomllib.loads(grown)["landmark"]] == ["a", "new"]


def test_what_the_library_would_lose_of_the_text_is_not_written(monkeypatch: pytest.MonkeyPatch) -> None:
    """An array in brackets is written by a library: were it to lose a comment, nothing would be added at all."""
    real = tomlkit.dumps
    monkeypatch.setattr(tomlkit, "dumps", lambda document: real(document).replace("# here", ""))
    with pytest.raises(PlaceError, match="by hand"):
        with_entry('landmark = [ { name = "a" } ] # here\n[routing]\n', ("landmark",), NEW)


def test_comments_above_an_entry_come_with_it(write_job: WriteJob, fragment: Fragment) -> None:
    text = '# from the sheet\n# of June\n[[landmark]]\nname = "hook"\nat = [1, 2, 3]\n'
    grown = add_to_job(write_job(), fragment(text)).new.decode()
    assert '# from the sheet\n# of June\n[[landmark]]\nname = "hook"\n' in grown.replace("\r\n", "\n")


def test_what_is_no_array_is_not_added_to() -> None:
    with pytest.raises(PlaceError, match="by hand"):
        with_entry("[landmark]\nx = 1\n", ("landmark",), NEW)


def test_entries_keep_their_comments() -> None:
    text = (
        '# head\n\n# right above\n[[device]]\nname = "d" # d\n# own\n\n'
        '# of the port\n[[device.port]]\nname = "p" # p\n'
    )
    (entry,) = entries_of(text, "device")
    assert entry.above == "# right above\n"
    assert "# d" in entry.body
    assert "# p" in entry.inner[0][1].body
    assert entry.data == {"name": "d"}


# --- a job -------------------------------------------------------------------------------------

WriteJob = Callable[..., Path]


@pytest.fixture
def fragment(tmp_path: Path) -> Callable[[str], Path]:
    def write(text: str) -> Path:
        (tmp_path / "more.toml").write_text(text, encoding="utf-8")
        return tmp_path / "more.toml"

    return write


Fragment = Callable[[str], Path]
MARK = '[[landmark]]\nname = "step"\nat = [100, 0, 0]\n'


def faults(job: Path, file: Path) -> list[tuple[str, str]]:
    with pytest.raises(JobError) as error:
        add_to_job(job, file)
    return [(f.code, f.found) for f in error.value.findings]


def test_a_job_gets_landmarks_devices_and_ports(write_job: WriteJob, fragment: Fragment) -> None:
    file = fragment(
        f'length_unit = "mm"\n{MARK}[[device]]\nname = "battery"\n[[device.port]]\nname = "negative"\n'
        "at = [300, -380, 30]\n"
        '[[device]]\nname = "speaker"\nat = [1500, 790, 700]\nspace = "cab"\n[[device.port]]\nname = "in"\n'
    )
    found = add_to_job(write_job(), file)
    new = tomllib.loads(found.new.decode())
    assert found.added == (
        '[[landmark]] "step"',
        '[[device.port]] "battery.negative"',
        '[[device]] "speaker"',
        '[[device.port]] "speaker.in"',
    )
    ports = {d["name"]: [p["name"] for p in d.get("port", [])] for d in new["device"]}
    assert ports == {
        "voice radio": ["power", "aerial"],
        "battery": ["positive", "negative"],
        "speaker": ["in"],
    }


def test_a_byte_order_mark_stays(write_job: WriteJob, fragment: Fragment) -> None:
    folder = write_job()
    raw = b"\xef\xbb\xbf" + FULL_JOB.encode()
    (folder / "job.toml").write_bytes(raw)
    found = add_to_job(folder, fragment(MARK))
    assert found.new.startswith(b"\xef\xbb\xbf")
    assert is_whole_in(raw.decode(), found.new.decode())


def test_every_clash_is_said_at_once(write_job: WriteJob, fragment: Fragment) -> None:
    file = fragment(
        'length_unit = "yard"\n[[landmark]]\nname = "left striker"\nat = [0, 0, 0]\n'
        '[[hinge]]\nname = "x"\nline = [[0, 0, 0], [0, 0, 1]]\n[[hinge]]\nname = "x"\nline = [[0, 0, 0], [0, 0, 1]]\n'
        '[[device]]\nname = "battery"\n[[device.port]]\nname = "positive"\n[[device]]\nname = "voice radio"\n'
        "[vehicle]\n"
    )
    assert sorted(faults(write_job(), file)) == [
        ("duplicate-name", "left striker"),
        ("duplicate-name", "positive"),
        ("duplicate-name", "voice radio"),
        ("duplicate-name", "x"),
        ("not-allowed", "'yard'"),
        ("unknown-key", "vehicle"),
    ]


def test_what_the_job_would_be_at_fault_for_is_a_fault_of_the_file(
    write_job: WriteJob, fragment: Fragment
) -> None:
    hole = (
        '[[pass_through]]\nname = "h"\nat = [1000, 0, 500]\naxis = [1, 0, 0]\ndiameter = 20\n'
        'joins = ["cab", "cellar"]\n'
    )
    folder = write_job()
    with pytest.raises(JobError) as error:
        add_to_job(folder, fragment(hole + '[[landmark]]\nname = "y"\nat = [1, 2]\n'))
    assert {(f.code, f.file) for f in error.value.findings} == {
        ("unknown-name", "more.toml"),
        ("wrong-type", "more.toml"),
    }
    assert all(f.where.startswith("more.toml, ") for f in error.value.findings)


def test_a_fault_the_job_has_already_stops_nothing(write_job: WriteJob, fragment: Fragment) -> None:
    folder = write_job(('joins = ["engine bay", "cab"]', 'joins = ["engine bay", "cup"]'))
    assert add_to_job(folder, fragment(MARK)).added == ('[[landmark]] "step"',)


@pytest.mark.parametrize(
    "text", ["", "# nothing\n", "not TOML", 'landmark = "x"\n', "[landmark]\nname = 1\n"]
)
def test_what_adds_nothing_is_refused(write_job: WriteJob, fragment: Fragment, text: str) -> None:
    assert faults(write_job(), fragment(text))


def test_a_file_that_is_not_there(write_job: WriteJob, tmp_path: Path) -> None:
    assert faults(write_job(), tmp_path / "none.toml") == [("job-unreadable", "")]


def test_points_of_another_mesh_are_warned_of(write_job: WriteJob, fragment: Fragment) -> None:
    file = fragment(f'{MARK}[picked_on]\nmesh_sha256 = "abc123"\n')
    folder = write_job()
    assert [f.code for f in add_to_job(folder, file, mesh_digest="fff").findings] == ["picked-elsewhere"]
    assert add_to_job(folder, file, mesh_digest="abc123ff").findings == ()


def test_every_array_of_the_job_format_can_be_added_to() -> None:
    job = tomllib.loads(FULL_JOB)
    arrays: dict[str, Any] = {k: v for k, v in job.items() if isinstance(v, list)}
    arrays |= {f"vehicle.{k}": v for k, v in job["vehicle"].items() if isinstance(v, list)}
    assert set(arrays) <= set(KINDS)


# --- tape checks -------------------------------------------------------------------------------

TAPES = (
    '# over the wheel arch\n[[vehicle.tape_check]]\nfrom = "left striker"\nto = "seat bolt" # twice\ndistance = 1180\n'
    '[[vehicle.tape_check]]\nof = "width"\ndistance = 1600\n'
)


@pytest.mark.parametrize("bracketed", [False, True])
@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("true", True),
        ("false", False),
        ("3", 3),
        ("2.5", 2.5),
        ('"x"', "x"),
        ("[1, true]", [1, True]),
        ("{ a = true, b = 1.5 }", {"a": True, "b": 1.5}),
        ("1979-05-27", date(1979, 5, 27)),
    ],
)
def test_values_of_every_type_are_read_as_python_has_them(
    written: str, value: object, bracketed: bool
) -> None:
    text = f"cable = [{{ k = {written} }}]\n" if bracketed else f"[[cable]]\nk = {written}\n"
    (entry,) = entries_of(text, "cable")
    assert entry.data == {"k": value}
    assert type(entry.data["k"]) is type(value)


def test_what_is_true_or_false_is_added(write_job: WriteJob, fragment: Fragment) -> None:
    file = fragment(
        '[[pass_through]]\nname = "h"\nat = [1000, 0, 500]\naxis = [1, 0, 0]\ndiameter = 50\nconfirmed = false\n'
        'joins = ["engine bay", "cab"]\n'
    )
    job, _ = job_from(add_to_job(write_job(), file).new, write_job())
    assert job is not None
    assert not job.pass_throughs[-1].confirmed


def test_tape_checks_go_with_the_vehicle(write_job: WriteJob, fragment: Fragment) -> None:
    folder = write_job()
    found = add_to_job(folder, fragment(TAPES))
    assert found.added == (
        "[[vehicle.tape_check]] left striker to seat bolt",
        "[[vehicle.tape_check]] width",
    )
    text = found.new.decode()
    assert set(FULL_JOB.splitlines()) <= set(text.splitlines())
    assert [c.get("of", c.get("to")) for c in tomllib.loads(text)["vehicle"]["tape_check"]] == [
        "dash corner",
        "seat bolt",
        "width",
    ]
    assert text.index("twice") < text.index("[[surface]]")  # beside the other
    (folder / "job.toml").write_text(text, encoding="utf-8")
    assert faults(folder, fragment(TAPES)) == [
        ("duplicate-name", "left striker to seat bolt"),
        ("duplicate-name", "width"),
    ]
    back = '[[vehicle.tape_check]]\nfrom = "dash corner"\nto = "left striker"\ndistance = 1000\n'
    assert faults(folder, fragment(back)) == [("duplicate-name", "dash corner to left striker")]
    assert faults(folder, fragment("[vehicle]\ntape_check = 3\n"))[0][0] == "wrong-type"
    assert faults(folder, fragment(TAPES.replace("seat bolt", "bolt")))[0] == (
        "duplicate-name",
        "width",
    )


@pytest.mark.parametrize(
    "vehicle",
    [
        "[vehicle]\nmesh = 1 # m\n",
        "# why\n[vehicle] # v\nmesh = 1\n# --- next ---\n[other]\nx = 1\n",
        "vehicle.mesh = 1\nx = 2\n",
        "[vehicle]\ntape_check = [{ distance = 1 }] # t\n[other]\n",
        "[[vehicle.tape_check]]\ndistance = 1\n\n# --- next ---\n[other]\nx = 1\n",
        "[other]\nx = 1\n",
    ],
)
def test_a_tape_check_finds_its_place_in_any_vehicle(vehicle: str) -> None:
    entry = Entry(body="distance = 7 # mine\n", data={"distance": 7})
    grown = with_entry(vehicle, ("vehicle", "tape_check"), entry)
    assert is_whole_in(vehicle, grown)
    assert tomllib.loads(grown)["vehicle"]["tape_check"][-1] == {"distance": 7}


def test_a_vehicle_in_brackets_is_said_to_be_for_the_hand() -> None:
    with pytest.raises(PlaceError, match="by hand"):
        with_entry(
            "vehicle = { mesh = 1 }\n",
            ("vehicle", "tape_check"),
            Entry(body="distance = 7\n", data={"distance": 7}),
        )


# --- other units -------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", UNIT_NAMES)
def test_a_job_whose_lengths_have_their_unit_is_the_same_job(write_job: WriteJob, unit: str) -> None:
    """FULL_JOB has every key of what can be added; what is under its other tables is written by hand."""
    text = FULL_JOB.replace("serviceable = true", "serviceable = true\npulls_out = 200", 1)
    text = text.replace("service_loop = 300", "service_loop = 300\ntravel = 40", 1)
    head, rest = text.split("[[surface]]", 1)
    rest, tail = ("[[surface]]" + rest).split("[routing]", 1)
    plain, _ = job_from(text.encode(), write_job())
    inches = with_own_unit(rest, "mm").replace(' mm"', ' MM"')
    assert "MM" in inches
    mixed = head.replace("distance = 1000", 'distance = "1000 mm"').replace(
        "point_error = 5", 'point_error = "5 mm"'
    )
    mixed = mixed.replace('length_unit = "mm"', f'length_unit = "{unit}"') + inches.replace("MM", "mm")
    other, findings = job_from((mixed + with_own_routing(tail)).encode(), write_job())
    assert not [f for f in findings if f.severity is Severity.ERROR]
    assert plain is not None
    assert other is not None
    for kind in ("spaces", "keep_outs", "noise_sources", "hinges", "landmarks", "pass_throughs", "devices", "cables",
                 "cable_types", "stock", "vehicle"):  # fmt: skip
        assert getattr(other, kind) == getattr(plain, kind), kind


def with_own_routing(tail: str) -> str:
    """The tables after the arrays, with the lengths in them as texts."""
    keys = "stand_off|bridge|node_spacing|round_up_to|drip_loop|hinge_loop|hole_cost|behind"
    return "[routing]" + re.sub(rf"(?m)^({keys}) = (\d+)$", r'\1 = "\2 mm"', tail)


def test_every_key_that_is_read_as_a_length_is_known_as_one() -> None:
    """From the readers themselves: a key that is new there has to be named here as well."""
    read = set()
    for module in (read_fitout, read_room):
        read |= set(re.findall(r'(?:length|lengths|point|seat|place)\("(\w+)"', inspect.getsource(module)))
        read |= set(
            re.findall(r'read_(?:points?|box|position)\(\w+, (?:places, )?"(\w+)"', inspect.getsource(module))
        )
    assert {"service_loop", "diameter", "line", "offset"} <= read
    assert read - {"radius", "from", "to"} <= LENGTHS  # those stand inside capsule and sphere


def test_inches_in_a_job_of_millimetres_keep_their_figures(write_job: WriteJob, fragment: Fragment) -> None:
    file = fragment(
        'length_unit = "in"\n[[landmark]]\nname = "step"\nat = [10.50, -2, 1_0]  # of the left\n'
        '[[pass_through]]\nname = "h"\nat = [39.37, 0, 20]\naxis = [1, 0, 0]\ndiameter = 2\n'
        'joins = ["engine bay", "cab"]\n'
    )
    found = add_to_job(write_job(), file)
    assert found.unit == "in"
    text = found.new.decode()
    assert 'at = ["10.50 in", "-2 in", "10 in"]  # of the left' in text
    assert "axis = [1, 0, 0]" in text
    job, _ = job_from(found.new, write_job())
    assert job is not None
    assert job.landmarks[-1].position.at_m == pytest.approx((0.2667, -0.0508, 0.254))
    assert job.pass_throughs[-1].diameter_m == pytest.approx(0.0508)
