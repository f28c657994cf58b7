"""``routecut catalogue`` lists and explains."""

import json
import tomllib

from routecut.tables import cable_types, equipment
from tests.cli.conftest import Run


def test_everything_is_listed(run: Run) -> None:
    ran = run("catalogue")
    assert ran.code == 0
    for name in [*equipment(), *cable_types()]:
        assert f"  {name} " in ran.out
    told = json.loads(run("catalogue", "--json").out)
    assert [e["name"] for e in told["equipment"]] == list(equipment())
    assert [t["name"] for t in told["cable_types"]] == list(cable_types())


def test_equipment_is_explained_with_its_ports_and_what_to_write(run: Run) -> None:
    ran = run("catalogue", "mobile radio, remote head")
    assert ran.code == 0
    assert "power         100, -70, 25         300  ring M5" in ran.out
    assert "invented" in ran.out
    written = ran.out.split("in a job:\n")[1].replace("\n  ", "\n").strip()
    job = tomllib.loads(written)
    assert job["device"][0]["equipment"] == "mobile radio, remote head"
    assert json.loads(run("catalogue", "battery", "--json").out)["ports"][0]["name"] == "positive"


def test_a_cable_type_is_explained_with_its_source(run: Run) -> None:
    ran = run("catalogue", "coax-58")
    assert "4.95 mm over the jacket" in ran.out
    assert "tightest bend 32.2 mm" in ran.out
    assert "source: coax specification sheet" in ran.out


def test_a_name_that_is_not_there_is_an_error_with_the_nearest(run: Run) -> None:
    ran = run("catalogue", "batery")
    assert ran.code == 2
    assert "the nearest is 'battery'" in ran.err


def test_what_a_job_gets_without_saying_so_is_printed(run: Run) -> None:
    for name, one in equipment().items():
        said = run("catalogue", name).out
        assert f"serviceable = {'true' if one.serviceable else 'false'}" in said, name
        device = tomllib.loads(said.split("in a job:\n")[1].replace("\n  ", "\n").strip())["device"][0]
        assert device["facing"] == one.faces, name
        assert "# the space it stands in" in said
        assert " - " not in said.split("\n\n")[1].partition("return ")[2].partition("\n")[0], name
