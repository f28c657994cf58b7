"""Every finding of `routecut check`: a job that draws it, and one that does not."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import numpy as np
import pytest
import trimesh

import routecut
from routecut.cutlist import measure_next
from routecut.errors import JobError
from routecut.model.codes import CODES
from routecut.model.finding import Finding, Severity
from routecut.ordering import missing_leads
from routecut.planning.open_sizes import first_sizes
from routecut.survey import first_bends, judge, survey_job
from tests.survey.conftest import FULL_JOB, shell

Changes = Sequence[tuple[str, str]]
Spoil = Callable[[Path], None]

PORT = '[[device.port]]\nname = "positive"\n'
LAST = "[routing]\nstand_off"


def add(entry: str) -> Changes:
    return [(LAST, entry + LAST)]


def many(count: int) -> str:
    ends = 'from = "battery.positive"\nto = "voice radio.power"\ntype = "wire-10awg-red"\n'
    return "".join(f'[[cable]]\nname = "D{number}"\n{ends}' for number in range(count))


def remeshed(make: Callable[[], trimesh.Trimesh]) -> Spoil:
    def spoil(folder: Path) -> None:
        make().export(folder / "body.ply")

    return spoil


def rough() -> trimesh.Trimesh:
    body = shell()
    points, faces = trimesh.remesh.subdivide_to_size(body.vertices, body.faces, 0.1)
    body = trimesh.Trimesh(points, faces, process=True)
    body.vertices += np.random.default_rng(1).normal(0, 0.004, body.vertices.shape)
    return body


def many_pieces() -> trimesh.Trimesh:
    plates = [
        trimesh.creation.box(bounds=[[3, -0.5, 0.05 * k], [3.3, 0.5, 0.05 * k + 0.01]]) for k in range(25)
    ]
    return trimesh.util.concatenate([shell(), *plates])


def twice() -> trimesh.Trimesh:
    body = shell()
    return trimesh.Trimesh(body.vertices, np.concatenate([body.faces, body.faces]), process=False)


def unreadable(folder: Path) -> None:
    (folder / "job.toml").write_text("[[[", encoding="utf-8")


def no_mesh(folder: Path) -> None:
    (folder / "body.ply").write_bytes(b"nothing")


PROVOKED: Mapping[str, tuple[Changes, Spoil | None]] = {
    # reading the job
    "job-unreadable": ([], unreadable),
    "unknown-key": ([('title = "Station van"', 'titel = "Station van"')], None),
    "missing-key": ([('length_unit = "mm"\n', "")], None),
    "wrong-type": ([("clearance = 150", 'clearance = "wide"')], None),
    "out-of-range": ([("lay_percent = 4", "lay_percent = -4")], None),
    "not-allowed": ([('kind = "panel"', 'kind = "pannel"')], None),
    "duplicate-name": ([('name = "seat bolt"', 'name = "dash corner"')], None),
    "unknown-name": ([('joins = ["engine bay", "cab"]', 'joins = ["engine bay", "cap"]')], None),
    "path-outside": ([('mesh = "body.ply"', 'mesh = "../body.ply"')], None),
    "bad-position": (
        [
            (
                "at = [300, -400, 30]",
                'at = { tape = { "left striker" = 1, "dash corner" = 1, "seat bolt" = 1 } }',
            )
        ],
        None,
    ),
    "tape-residual": (
        [
            (
                "at = [300, -400, 30]",
                'at = { tape = { "left striker" = 1048, "dash corner" = 1870, "seat bolt" = 1265, top = 2346 } }',
            ),
            ("[[pass_through]]", '[[landmark]]\nname = "top"\nat = [1500, 800, 1500]\n[[pass_through]]'),
        ],
        None,
    ),
    "type-assumed": ([], None),
    "keep-out-unconfirmed": ([('name = "tank"', 'name = "tank"\nconfirmed = false')], None),
    "pass-through-unconfirmed": ([("in_use = 12", "in_use = 12\nconfirmed = false")], None),
    # the mesh
    "mesh-unreadable": ([], no_mesh),
    "mesh-size": ([('mesh_unit = "m"', 'mesh_unit = "mm"')], None),
    "mesh-repaired": ([], remeshed(twice)),
    "mesh-open": ([], remeshed(many_pieces)),
    "mesh-rough": ([], remeshed(rough)),
    "mesh-part-unmatched": ([('[[surface]]\npart = "*"', '[[surface]]\npart = "door"')], None),
    "tape-check": ([("distance = 1000", "distance = 1100")], None),
    "point-snapped": ([("at = [3900, 500, 20]", "at = [3900, 500, 20]\nsnap = true")], None),
    "point-off-surface": ([("at = [3900, 560, 20]", "at = [3300, 100, 700]")], None),
    "pass-through-seated": ([], None),
    "pass-through-unseated": ([("at = [1004, -550, 520]", "at = [1200, -550, 520]")], None),
    "ports-together": ([("at = [3900, 560, 20]", "at = [300, -400, 30]")], None),
    "wrong-space": ([("at = [3900, 560, 20]", "at = [500, 560, 20]")], None),
    # before work
    "job-incomplete": (add('[[device]]\nname = "speaker"\nat = [3900, 0, 20]\nspace = "cab"\n'), None),
    "many-cables": (add(many(300)), None),
    "names-alike": ([('name = "seat bolt"', 'name = "Dash-corner"')], None),
    "space-cut-off": (
        [('classes = ["power", "coax"]', 'classes = ["power"]'), ("drill = true", "drill = false")],
        None,
    ),
    "spaces-overlap": (
        [("box = [[0, -800, 0], [1000, 800, 1500]]", "box = [[0, -800, 0], [1300, 800, 1500]]")],
        None,
    ),
    "port-kept-out": (
        add('[[keep_out]]\nname = "heater"\nsphere = { at = [3900, 560, 20], radius = 60 }\n'),
        None,
    ),
    "port-beyond": ([("at = [3900, 560, 20]", "at = [4030, 500, 20]")], None),
    "port-unseen": ([("at = [3900, 560, 20]", "at = [3600, 0, 340]")], None),
    "port-cramped": (
        [("offset = [60, 0, 0]\nleaves = [0, 3, 4]", "at = [3975, 500, 300]\nleaves = [1, 0, 0]")],
        None,
    ),
    "no-stock-lead": ([], None),
    "pass-through-open": (
        [("at = [1004, -550, 520]", "at = [1004, -806, 520]"), ("axis = [2, 0, 0]", "axis = [1, 0, 0]")],
        None,
    ),
    "measure-next": ([("scan_error_percent = 0.5", "scan_error_percent = 5")], None),
}
"""What is changed in `FULL_JOB`, or in its folder, to draw each finding."""

QUIET: Mapping[str, tuple[Changes, Spoil | None]] = {
    "no-stock-lead": ([("reel = 15000", "reel = 15000\nlengths = [4500]")], None),
    "type-assumed": ([('class = "coax"\nsignal', 'type = "coax-240"\nsignal')], None),
    "pass-through-seated": ([("at = [1004, -550, 520]", "at = [1000, -550, 520]")], None),
}
"""The same for those that `FULL_JOB` itself draws: what is changed so that it does not."""

ELSEWHERE = {
    "picked-elsewhere": "routecut add alone gives it: test_additions.py",
    "trim-ring": "trim that waits for itself: test_trim_order.py",
    "shop-defaults": "a shop's own file is read: tests/cli/test_learn.py",
}


@pytest.fixture
def codes_of(tmp_path: Path) -> Callable[[Changes, Spoil | None], list[Finding]]:
    def run(changes: Changes, spoil: Spoil | None) -> list[Finding]:
        text = FULL_JOB
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new, 1)
        (tmp_path / "job.toml").write_text(text, encoding="utf-8")
        shell().export(tmp_path / "body.ply")
        if spoil is not None:
            spoil(tmp_path)
        return checked(tmp_path)

    return run


def checked(folder: Path) -> list[Finding]:
    """What `routecut check` prints."""
    try:
        found = survey_job(folder)
    except JobError as error:
        return list(error.findings)
    return [
        *found.findings,
        *judge(found.job, found.body),
        *first_bends(found.job, found.body, first_sizes(found.job)),
        *missing_leads(found.job),
        *measure_next(found.job),
    ]


Check = Callable[[Changes, Spoil | None], list[Finding]]


@pytest.mark.parametrize("code", PROVOKED)
def test_it_is_drawn(codes_of: Check, code: str) -> None:
    found = [f for f in codes_of(*PROVOKED[code]) if f.code == code]
    assert found
    assert all(f.message and f.where for f in found)


@pytest.mark.parametrize("code", PROVOKED)
def test_it_is_not_drawn_where_there_is_no_reason(codes_of: Check, code: str) -> None:
    assert code not in {f.code for f in codes_of(*QUIET.get(code, ([], None)))}


def codes_named_in(*places: str) -> set[str]:
    """Every finding code that stands as a text in a module."""
    top = Path(routecut.__file__).parent
    files = [file for place in places for file in sorted(top.glob(place))]
    assert files
    return {
        node.value
        for file in files
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value in CODES
    }


def test_none_is_left_out() -> None:
    named = codes_named_in("survey/*.py", "ordering/shelf.py", "cutlist/outlook.py")
    assert named - set(ELSEWHERE) == set(PROVOKED)


def test_all_are_on_the_page() -> None:
    page = (Path(__file__).parents[2] / "docs/findings.md").read_text(encoding="utf-8")
    assert {code for code in PROVOKED if f"| `{code}` |" not in page} == set()


# --- what they say -----------------------------------------------------------------------------


def test_what_can_not_be_true_is_said_with_what_to_type(codes_of: Check) -> None:
    said = codes_of([*PROVOKED["spaces-overlap"][0], *PROVOKED["port-kept-out"][0]], None)
    for code, found, fix in (
        ("spaces-overlap", "engine bay", 'a box of "cab"'),
        ("port-kept-out", "heater", "the nearest place no keep-out takes"),
    ):
        (finding,) = [f for f in said if f.code == code]
        assert finding.found == found
        assert fix in finding.message
        assert "Type: " in finding.message
        assert finding.severity is Severity.WARNING


def test_a_port_beyond_a_panel_is_told_apart_from_one_whose_box_is_too_small(codes_of: Check) -> None:
    (said,) = [f for f in codes_of(*PROVOKED["port-beyond"]) if f.code == "port-beyond"]
    assert "'voice radio.aerial' lies 30 mm beyond 'body'" in said.message
    # a device at the panel lies outside a box that stops short of it, and its port beyond all the same
    short = [*PROVOKED["port-beyond"][0], ("[4000, 800, 1500]]]", "[3880, 800, 1500]]]")]
    assert "port-beyond" in {f.code for f in codes_of(short, None)}
    # 30 mm outside the box of its space, and nothing between it and its device
    small = [("[[2000, -800, 0], [4000, 800, 1500]]", "[[2000, -800, 0], [4000, 530, 1500]]")]
    assert "port-beyond" not in {f.code for f in codes_of(small, None)}


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("d\N{CYRILLIC SMALL LETTER A}sh corner", "more than one script: cyrillic small letter a"),
        ("Dash Corner", "read alike on a label"),
        ("dash c0rner", "read alike on a label"),
        (
            "\N{FULLWIDTH LATIN SMALL LETTER D}ash corner",
            "more than one script: fullwidth latin small letter d",
        ),
        ("dash corner 2", ""),
        ("dash comer", ""),
    ],
)
def test_names_that_read_alike(codes_of: Check, name: str, said: str) -> None:
    found = [
        f for f in codes_of([('name = "seat bolt"', f'name = "{name}"')], None) if f.code == "names-alike"
    ]
    assert [said in f.message for f in found] == ([True] if said else [])
    assert all('Type: another name for one of them, such as "dash corner 2"' in f.message for f in found)


def test_a_port_that_is_kept_out_is_told_where_it_would_be_free(codes_of: Check) -> None:
    """As it is typed, it is quiet; it lies straight out of the sphere, by what its clearance lacked."""
    changes = [
        ("offset = [60, 0, 0]", "offset = [60, 0, 4]"),
        *add(
            '[[keep_out]]\nname = "heater"\nsphere = { at = [3960, 500, 0], radius = 60 }\nclearance = 20\n'
        ),
    ]
    (said,) = [f for f in codes_of(changes, None) if f.code == "port-kept-out"]
    typed = re.search(r"Type: (offset = \[60, 0, (\d+)\]) for the port, (\d+) mm from here", said.message)
    assert typed is not None, said.message
    # 24 mm above the middle of a sphere that takes 80 mm, with a millimetre for rounding
    assert 60 <= int(typed[2]) <= 62
    assert 56 <= int(typed[3]) <= 58
    moved = [("offset = [60, 0, 0]", typed[1]), *changes[1:]]
    assert "port-kept-out" not in {f.code for f in codes_of(moved, None)}


def test_how_far_in_the_air_a_port_is(codes_of: Check) -> None:
    """390 mm are within the bridge length, 400 mm; all the same nothing is there to fix a device to."""
    said = codes_of([("at = [3900, 500, 20]", "at = [3500, 350, 390]")], None)
    found = [f for f in said if f.code == "point-off-surface"]
    assert [f.found for f in found] == ["390 mm"]


def test_a_small_space_in_a_large_one_is_as_it_should_be_and_the_other_way_round_not(codes_of: Check) -> None:
    space = '[[space]]\nname = "locker"\nbox = [[3000, 200, 0], [3500, 700, 500]]\n'
    first = '[[space]]\nname = "engine bay"'
    assert "spaces-overlap" not in {f.code for f in codes_of([(first, space + first)], None)}
    late = [f for f in codes_of(add(space), None) if f.code == "spaces-overlap"]
    assert [f.found for f in late] == ["cab", "outside"]
    assert 'list "locker" before "cab"' in late[0].message


def test_tips_are_ranked_by_what_they_save(codes_of: Check) -> None:
    def saved(finding: Finding) -> float:
        return float(finding.found.split()[0])

    two = [('measured = [{ from = "bulkhead grommet left", to = "voice radio.power", length = 2480 }]\n', "")]
    found = [f for f in codes_of([*PROVOKED["measure-next"][0], *two], None) if f.code == "measure-next"]
    assert len(found) > 1
    assert [saved(f) for f in found] == sorted(map(saved, found), reverse=True)
    assert "Tape from" in found[0].message  # it helps every cable
    assert [f.message[0] for f in found] == [str(k) for k in range(1, len(found) + 1)]


@pytest.mark.parametrize(
    ("is_it", "can_go"),
    [('[[device.port]]\nname = "input"\noffset = [0, 0, 0]\n', True), ('equipment = "loudspeaker"\n', False)],
)
def test_a_port_nothing_goes_to_can_be_left_out_where_the_job_writes_it(
    codes_of: Check, is_it: str, can_go: bool
) -> None:
    speaker = f'[[device]]\nname = "speaker"\nat = [3900, 0, 20]\nspace = "cab"\n{is_it}'
    (said,) = [
        f for f in codes_of(add(speaker), None) if "speaker." in f.message and f.code == "job-incomplete"
    ]
    assert "nothing where nothing is plugged in there" in said.message
    assert ("leave the port out" in said.message) is can_go


def test_what_is_missing_is_said_of_a_job_with_nothing_in_it(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(
        'length_unit = "mm"\n[vehicle]\nmesh = "body.ply"\nmesh_unit = "m"\naxes = "+x rear, +y right, +z up"\n',
        encoding="utf-8",
    )
    shell().export(tmp_path / "body.ply")
    said = " ".join(f.message for f in checked(tmp_path) if f.code == "job-incomplete")
    for word in ("[[space]]", "[[device]]", "[[vehicle.tape_check]]", "[[keep_out]]"):
        assert word in said


def test_antennas_without_a_strap_are_told_in_one_line_with_what_to_type(codes_of: Check) -> None:
    """Nothing is cut or ordered for a bond that nobody wrote down; with the strap written, nothing is said."""
    two = "".join(
        f'[[device]]\nname = "{name}"\nequipment = "antenna base, roof hole"\nat = [3900, {y}, 900]\nspace = "cab"\n'
        for name, y in (("first antenna", 0), ("second antenna", 300))
    )

    def said(text: str) -> list[str]:
        return [f.message for f in codes_of(add(text), None) if "strap bonds" in f.message]

    (line,) = said(two)
    assert "No strap bonds first antenna, second antenna to the body, so none is cut or ordered." in line
    assert 'class = "bond" from = "first antenna.bond"' in line
    stud = '[[device]]\nname = "stud"\nequipment = "earth stud"\nat = [3800, 60, 880]\nspace = "cab"\n'
    strap = '[[cable]]\nname = "B1"\nclass = "bond"\nfrom = "first antenna.bond"\nto = "stud.lug"\n'
    (line,) = said(two + stud + strap)
    assert "first antenna" not in line
