"""The answers for the script."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from lubberline.web.app import create_app
from lubberline.web.flights.answer import MOST_ROWS
from tests.web.caller import Caller
from tests.web.pretend import HOSTILE, SECONDS

TYPES = Path(__file__).parents[2] / "frontend" / "src" / "pages" / "flights" / "reply.ts"


def test_a_flight_comes_with_columns_of_one_length(call):
    answer = call.fly().json()
    rows = len(answer["time_s"])
    for group in ("trace", "ledger", "compass_ledger"):
        assert {len(column) for column in answer[group].values()} == {rows}
    assert rows <= MOST_ROWS + 20


def test_thinning_keeps_ends_events_and_the_sharpest_peak(call):
    answer = call.fly().json()
    assert answer["time_s"][0] == 0
    assert answer["time_s"][-1] == SECONDS
    assert 1801 in answer["time_s"]
    assert min(answer["trace"]["heading_error_deg"]) == -77.0
    # The pretended flight only says so: its ledger starts nothing anew there.
    assert answer["events"][1] == {"time_s": 1801.0, "words": "set from compass", "sets": False}


def test_what_is_not_a_number_becomes_null(call):
    assert set(call.fly().json()["trace"]["gauge_inhg"]) == {None}


def test_only_causes_with_a_part_are_marked(call):
    causes = {cause["key"]: cause for cause in call.fly().json()["causes"]}
    assert causes["earth_deg"]["has_part"]
    assert causes["earth_deg"]["drift_deg_15min"] == -3.0
    assert not causes["tumble_deg"]["has_part"]


def test_the_engine_is_asked_what_the_page_asks(call, catalogue):
    call.fly(
        flight="hostile",
        aircraft="zz_two",
        set_every_min=12.5,
        set_from="truth",
        true_reference=True,
        wind="270/15",
        faults=["filter=0.8@20"],
        believe=["no-earth-wander"],
        seed=3,
    )
    flight, aircraft, options = catalogue.fly.asked[0]
    assert (flight.stem, aircraft.stem) == ("hostile", "zz_two")
    assert options == {
        "seed": 3,
        "believe": ("no-earth-wander",),
        "set_every_min": 12.5,
        "set_from": "truth",
        "true_reference": True,
        "wind": "270/15",
        "faults": ("filter=0.8@20",),
    }


def test_a_state_asked_again_is_not_flown_again_unless_its_file_changed(call, catalogue):
    assert call.fly().json() == call.fly().json()
    assert len(catalogue.fly.asked) == 1
    catalogue.flights[0].path.touch()
    call.fly()
    assert len(catalogue.fly.asked) == 2


def test_a_wrong_idea_comes_with_the_sentence_that_mends_it(call, catalogue):
    believed = call.fly(believe=[catalogue.ideas[0].id]).json()["believed"][0]
    assert believed["statement"] == catalogue.ideas[0].statement
    assert believed["mending"] == catalogue.ideas[0].mend
    assert len(believed["total_deg"]) == len(call.fly().json()["time_s"])


REFUSED = {
    "an unknown flight": ({"flight": "elsewhere"}, "flight"),
    "a path for a flight": ({"flight": "../../etc/passwd"}, "flight"),
    "a path for an aircraft": ({"aircraft": "/etc/passwd"}, "aircraft"),
    "a file that is gone": ({"flight": "file:0123456789abcdef"}, "flight"),
    "an unknown field": ({"fligth": "plain"}, "request"),
    "a wrong kind": ({"set_every_min": "often"}, "request"),
    "an interval of nothing": ({"set_every_min": 0}, "set_every_min"),
    "a flood of faults": ({"faults": ["pump@1"] * 7}, "fault"),
    "a flood of ideas": ({"believe": ["x"] * 9}, "believe"),
    "a seed below zero": ({"seed": -1}, "seed"),
    "what the engine refuses": ({"faults": ["gremlin@1"]}, "--fault"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_bad_input_is_refused_in_one_shape(call, case):
    asked, where = REFUSED[case]
    response = call.fly(**asked)
    assert response.status_code == 422
    error = response.json()["error"]
    assert error["where"] == where
    assert error["wrong"]
    assert error["right"]


@pytest.mark.parametrize("body", [b"", b"{", b"\xff\xfe", b"[]", b'{"seed": NaN}'])
def test_a_body_that_is_no_state_is_refused(call, body):
    assert call.post("/api/fly", content=body).status_code == 422


def test_a_request_too_long_to_be_a_state_is_refused(call):
    assert call.post("/api/fly", content=b" " * 64_001).status_code == 413


def test_a_fault_of_the_program_says_so_without_its_inside(call):
    response = call.fly(faults=["broken"])
    assert response.status_code == 500
    assert response.json()["error"]["where"] == "program"
    assert "inside" not in response.text


def test_an_unknown_address_has_the_same_shape(call):
    response = call.get("/api/nothing")
    assert response.status_code == 404
    assert set(response.json()["error"]) == {"code", "where", "wrong", "right"}


def test_a_given_file_is_flown_in_the_wind_asked_for(call, catalogue):
    given = call.post("/api/flights?name=C%3A%5Clogs%5Ctrack.gpx", content=b"<gpx/>").json()
    assert given["name"] == "track.gpx"
    assert call.fly(flight=given["flight"]).json()["title"] == "track.gpx"
    assert call.fly(flight=given["flight"], wind="300/20").json()["title"] == "track.gpx 300/20"
    assert [asked[2]["wind"] for asked in catalogue.fly.asked] == [None, None]


def test_a_bad_file_is_refused_with_its_name(call):
    response = call.post("/api/flights?name=empty.igc", content=b"")
    assert response.status_code == 422
    assert response.json()["error"]["where"] == "empty.igc"
    assert call.post("/api/flights?name=", content=b"x").status_code == 422


def test_only_the_last_few_files_are_kept(call):
    keys = [call.post("/api/flights?name=a.csv", content=str(n).encode()).json()["flight"] for n in range(7)]
    assert call.fly(flight=keys[0]).status_code == 422
    assert call.fly(flight=keys[-1]).status_code == 200


def test_texts_of_an_answer_are_escaped(call):
    parts = call.fly(flight="hostile").json()["parts"]
    assert HOSTILE not in parts["head"]
    assert "&lt;script&gt;" in parts["head"]


def test_an_empty_house_says_what_is_missing(catalogue):
    response = Caller(create_app(replace(catalogue, flights=()))).fly()
    assert response.status_code == 422
    assert "demo" in response.json()["error"]["right"]


def interface(name: str) -> set[str]:
    """Field names of an interface of the front end's types."""
    found = re.search(rf"export interface {name} {{(.*?)\n}}", TYPES.read_text(encoding="utf-8"), re.DOTALL)
    assert found
    return set(re.findall(r"^  (\w+):", found[1], re.MULTILINE))


def test_the_types_of_the_script_name_the_fields_that_are_sent(call, catalogue):
    answer = call.fly(believe=[catalogue.ideas[0].id]).json()
    assert interface("Reply") == set(answer)
    assert interface("Asked") == set(answer["asked"])
    assert interface("Trace") == set(answer["trace"])
    assert interface("Cause") == set(answer["causes"][0])
    assert interface("FlightEvent") == set(answer["events"][0])
    assert interface("Believed") == set(answer["believed"][0])
