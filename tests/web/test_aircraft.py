"""The Aircraft pages in process: verdicts, entries with their trail, CSV, swings, plans, the log's code."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import httpx
import pytest

from lubberline.errors import InputError
from lubberline.simulation.live.address import scene_at
from lubberline.simulation.scenes import broken_claims, run_scene, scene_from_text
from lubberline.store.school import School, open_school
from lubberline.upkeep.log import log_from_text
from lubberline.web.aircraft import log_book
from lubberline.web.aircraft.fleet import craft_of
from lubberline.web.app import create_app
from tests.poppler import poppler
from tests.web.caller import BASE, Caller
from tests.web.papers import whose_of

HOSTILE = "<script>alert(1)</script>"
OWN = 'name = "D-Own 1"\n\n[heading_indicator]\nbalance_latitude_deg = 48.0\n'
JSON = {"accept": "application/json"}


@pytest.fixture
def school() -> Iterator[School]:
    opened = open_school("memory")
    yield opened
    opened.close()


@pytest.fixture
def ask(school: School) -> Caller:
    return Caller(create_app(school=school))


def words(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split()).replace(" :", ":")


def check(**changed: str) -> dict[str, str]:
    """What the form sends."""
    usual = {
        "indicated": "270",
        "compass": "262",
        "suction": "4.9",
        "engine": "cruise",
        "set_ago_min": "20",
        "place": "47.5N 8.5E",
        "sent": "sending-a",
    }
    return usual | changed


def sent(ask: Any, address: str, form: dict[str, str], **more: Any) -> httpx.Response:
    """The form as script sends it."""
    whose = whose_of(ask("GET", address).text)
    fields = {name: text for name, text in form.items() if name != "sent"}
    body = {"sent": form["sent"], "for": whose, "fields": fields}
    options = {"headers": {"origin": BASE}, **more}
    return ask("POST", address, json=body, **options)


def owned(ask: Caller) -> str:
    assert ask.post("/aircraft", data={"file": OWN}).status_code == 303
    return "/aircraft/d-own-1"


def test_the_fleet_at_a_glance(ask: Caller) -> None:
    html = ask.get("/aircraft").text
    rows = {
        row[0]: words(row[1])
        for row in re.findall(r'href="/aircraft/(zz-\w+)">.*?</th>(.*?)</tr>', html, re.DOTALL)
    }
    assert "Only the Earth" in rows["zz-oak"]
    assert "Only the Earth" in rows["zz-fir"]
    assert "Have it checked by an engineer" in rows["zz-elm"]
    assert "Have it checked by an engineer" in rows["zz-ash"]
    assert "last 2026-04-13" in rows["zz-ash"]
    assert re.search(
        r'aria-label="Real wander \+\d\.\d° in 15 min, 95% interval \+\d\.\d° to \+\d\.\d°"', html
    )


def test_one_aircraft_with_its_reasons_and_its_files(ask: Caller, tmp_path: Path) -> None:
    text = words(ask.get("/aircraft/zz-ash").text)
    for part in (
        "Have it checked by an engineer",
        "bearings 100 %",
        "Next:",
        "For teaching only",
        "56 entries",
    ):
        assert part in text
    report = ask.get("/aircraft/zz-ash/report.pdf")
    assert report.headers["content-disposition"] == 'attachment; filename="zz-ash_report.pdf"'
    assert "Have it checked by an engineer" in poppler("pdftotext", report.content, tmp_path)
    assert ask.get("/aircraft/zz-ash/judgement.json").json()["verdict"] == "look"
    svg = ask.get("/aircraft/zz-ash/figure.svg?theme=dark")
    assert svg.headers["content-type"] == "image/svg+xml"
    assert "@media all" in svg.text
    assert ask.get("/aircraft/zz-ash/other.pdf").status_code == 404
    assert ask.get("/aircraft/none").status_code == 404


def test_a_check_is_kept_once_and_stands_as_typed_beside_as_understood(ask: Caller, school: School) -> None:
    address = f"{owned(ask)}/log"
    first = sent(ask, address, check()).json()["kept"]
    again = sent(ask, address, check()).json()["kept"]
    assert first == again
    (entry,) = school.log.entries("D-Own 1")
    assert entry.typed["indicated"] == "270"
    assert entry.typed["place"] == "47.5N 8.5E"
    assert entry.understood["indicated_deg"] == 270.0
    assert entry.understood["minutes_since_set"] == 20.0
    assert entry.understood["latitude_deg"] == 47.5
    assert entry.understood["cruise_inhg"] == 4.9
    text = words(ask.get("/aircraft/d-own-1").text)
    assert "indicated=270" in text
    assert "card 270°, compass 262°, set 20 min before" in text


def test_without_script_the_form_works_too(ask: Caller, school: School) -> None:
    address = f"{owned(ask)}/log"
    answer = ask.post(address, data=check(suction="", engine=""))
    assert (answer.status_code, answer.headers["location"]) == (303, f"{address}?done=kept")
    html = ask.get(f"{address}?done=kept").text
    assert "270 / 262, set 20 min before" in words(html)
    refused = ask.post(address, data=check(indicated="361", note=HOSTILE, sent="sending-b"))
    assert refused.status_code == 422
    assert "a heading of 361; from 0 to 360" in words(refused.text)
    # What was typed stays, and stays text.
    assert 'value="361"' in refused.text
    assert HOSTILE not in refused.text
    assert len(school.log.entries("D-Own 1")) == 1


@pytest.mark.parametrize(
    ("changed", "where", "wrong"),
    [
        ({"indicated": "361"}, "indicated", "a heading of 361"),
        ({"compass": "26,5"}, "compass", "has a comma"),
        ({"compass": ""}, "compass", "it is empty"),
        ({"suction": "49"}, "suction_cruise", "a suction of 49.0 inHg"),
        ({"set_ago_min": ""}, "last set", "the time is missing"),
        ({"set_ago_min": "-5"}, "last set", "the time is missing"),
        ({"set_ago_min": "", "set_at": "25:00"}, "set_at", "is not a time"),
        ({"time": "2026-05-01 10:00"}, "time", "has no zone"),
        ({"place": "somewhere"}, "place", "is no"),
        ({"place": ""}, "place", "no place is given"),
        ({"run_down": "-1"}, "spin_down", "-1 minutes"),
    ],
)
def test_what_cannot_be_is_refused_with_its_field(
    ask: Caller, school: School, changed: dict[str, str], where: str, wrong: str
) -> None:
    answer = sent(ask, f"{owned(ask)}/log", check(**changed))
    assert answer.status_code == 422
    error = answer.json()["error"]
    assert error["where"].endswith(where)
    assert wrong in error["wrong"]
    assert error["right"]
    assert school.log.entries("D-Own 1") == ()


def test_two_settings_at_once_and_two_entries_at_once_are_refused(ask: Caller) -> None:
    address = f"{owned(ask)}/log"
    now = datetime.now(tz=UTC) - timedelta(minutes=30)
    at = f"{now:%Y-%m-%dT%H:%M:%SZ}"
    assert sent(ask, address, check(time=at, set_ago_min="5")).status_code == 200
    same = sent(ask, address, check(time=at, set_ago_min="5", sent="sending-b"))
    assert "has an entry already" in same.json()["error"]["wrong"]
    earlier = sent(ask, address, check(set_ago_min="60", sent="sending-c"))
    assert "before a later setting in the log" in earlier.json()["error"]["wrong"]


def test_since_the_last_entry_takes_its_time_and_its_compass(ask: Caller, school: School) -> None:
    address = f"{owned(ask)}/log"
    then = datetime.now(tz=UTC) - timedelta(minutes=25)
    at = f"{then:%Y-%m-%dT%H:%M:%SZ}"
    sent(ask, address, check(time=at, compass="118"))
    assert "after the last entry" in ask.get(address).text
    sent(ask, address, check(set_ago_min="last", sent="sending-b"))
    second = school.log.entries("D-Own 1")[1]
    assert second.understood["set_utc"] == at
    assert second.understood["set_compass_deg"] == 118.0
    assert second.understood["minutes_since_set"] == pytest.approx(25.0, abs=0.2)


def test_undo_takes_back_and_leaves_a_trail(ask: Caller, school: School) -> None:
    address = f"{owned(ask)}/log"
    kept = sent(ask, address, check()).json()["kept"]
    assert kept["can_undo"]
    assert ask.post(f"{address}/undo", data={"entry": kept["id"]}, headers=JSON).json() == {"undone": True}
    (change,) = school.log.trail("D-Own 1")
    assert change.typed_before["indicated"] == "270"
    text = words(ask.get("/aircraft/d-own-1").text)
    assert "1 entry withdrawn" in text
    assert "undone within 15 minutes" in text
    # It counts nowhere any more.
    assert "too few checks to judge the instrument" in text
    assert "270" not in ask.get("/aircraft/d-own-1/log.csv").text
    assert ask.post(f"{address}/undo", data={"entry": "none"}, headers=JSON).status_code == 422
    # One press brings it back; both stay in the trail.
    assert 'value="bring back"' in ask.get(address).text
    back = {"entry": kept["id"], "do": "bring back"}
    assert ask.post(f"{address}/undo", data=back, headers=JSON).json() == {"undone": False}
    assert 'value="bring back"' not in ask.get(address).text
    assert [one.why for one in school.log.trail("D-Own 1")] == ["undone within 15 minutes", "brought back"]
    assert not school.log.entries("D-Own 1")[0].understood.get("withdrawn")


def test_what_was_taken_out_on_the_page_is_not_put_back_from_the_form(ask: Caller, school: School) -> None:
    craft = craft_of(school, "zz-ash")
    entry = school.log.add(craft.name, {"indicated": "270"}, {"time_utc": "2026-03-01T10:00:00Z"})
    log_book.undo(school, craft, entry.id)
    log_book.redo(school, craft, entry.id)
    # Twice is no more than once: it is there.
    log_book.redo(school, craft, entry.id)
    log_book.withdraw(school, craft, entry.id, "N. N.", "the wrong aircraft")
    with pytest.raises(InputError, match=r"changed by N\. N\."):
        log_book.redo(school, craft, entry.id)
    assert school.log.entries(craft.name)[-1].understood["withdrawn"]


def test_an_old_entry_cannot_be_undone_but_corrected(
    ask: Caller, school: School, monkeypatch: pytest.MonkeyPatch
) -> None:
    address = owned(ask)
    kept = sent(ask, f"{address}/log", check()).json()["kept"]
    monkeypatch.setattr("lubberline.web.aircraft.entries.UNDO_WITHIN_S", -1.0)
    late = ask.post(f"{address}/log/undo", data={"entry": kept["id"]}, headers=JSON)
    assert "older than 15 minutes" in late.json()["error"]["wrong"]
    (entry,) = school.log.entries("D-Own 1")
    fields = {**entry.typed, "compass": "266", "by": "A. Fitter", "why": "read again from the sheet"}
    unsigned = ask.post(f"{address}/entries/{entry.id}", data={**fields, "by": " "})
    assert unsigned.status_code == 422
    assert "sign the correction" in words(unsigned.text)
    wrong = ask.post(f"{address}/entries/{entry.id}", data={**fields, "compass": "x"})
    assert "'x' is not a number" in words(wrong.text)
    done = ask.post(f"{address}/entries/{entry.id}", data=fields)
    assert done.status_code == 303
    (entry,) = school.log.entries("D-Own 1")
    assert entry.understood["compass_deg"] == 266.0
    text = words(ask.get(address).text)
    assert "A. Fitter: read again from the sheet. Before:" in text
    assert "compass=262" in text
    assert ask.post(f"{address}/entries/nothing", data=fields).status_code == 422
    assert ask.get(f"{address}/entries/nothing").status_code == 404


CSV = """time_utc;indicated;compass;set_at;place
2026-05-01T10:00Z;271;262;09:30Z;N4730.0 E00830.0
2026-05-01T11:00Z;361;262;10:30Z;
2026-05-01 12:00;271;262;11:30Z;
2026-05-01T13:00Z;100;97;12:20Z;
"""


def test_a_log_comes_in_as_csv_and_goes_out_as_it_came(ask: Caller, school: School) -> None:
    address = owned(ask)
    answer = ask.post(f"{address}/csv", data={"csv": CSV})
    text = words(answer.text)
    assert "line 3, indicated: a heading of 361; from 0 to 360" in text
    assert "line 4, time_utc: '2026-05-01 12:00' has no zone" in text
    assert len(school.log.entries("D-Own 1")) == 2
    out = ask.get(f"{address}/log.csv").text
    read = log_from_text("out", out)
    assert [one.indicated_deg for one in read.checks] == [271.0, 100.0]
    # The second row had no place of its own.
    assert read.checks[1].latitude_deg == pytest.approx(47.5)
    # The same again is known already.
    assert ask.post(f"{address}/csv", data={"csv": out}).status_code == 303
    assert len(school.log.entries("D-Own 1")) == 2
    wrong = ask.post(f"{address}/csv", data={"csv": "a,b\n1,2\n"})
    assert wrong.status_code == 422
    assert "time_utc" in words(wrong.text)


CONTEXT = """# place Home = N4730.0 E00830.0
time_utc,place,indicated,compass,set_at
2026-05-01T09:30Z,Home,,262,set now
2026-05-01T10:00Z,,271,262,
2026-05-01T10:30Z,Home,100,97,set now
"""


def test_rows_that_lean_on_the_rows_before_stand_by_themselves_here(ask: Caller, school: School) -> None:
    address = owned(ask)
    assert ask.post(f"{address}/csv", data={"csv": CONTEXT}).status_code == 303
    kept = school.log.entries("D-Own 1")
    assert len(kept) == 3
    assert kept[2].typed["place"] == "47.5000, 8.5000"
    assert kept[2].typed["note"] == "Home"
    assert kept[1].understood["minutes_since_set"] == 30.0
    text = words(ask.get(address).text)
    assert "set to the compass" in text
    assert "not understood" not in text
    # An entry whose setting came from the row before keeps it when it is corrected.
    fields = {**kept[1].typed, "indicated": "272", "by": "A. Fitter", "why": "misread"}
    assert ask.post(f"{address}/entries/{kept[1].id}", data=fields).status_code == 303
    assert school.log.entries("D-Own 1")[1].understood["minutes_since_set"] == 30.0


def test_work_done_on_it_is_kept(ask: Caller, school: School) -> None:
    address = owned(ask)
    ask.post(f"{address}/csv", data={"csv": CSV})
    sent = {"maintenance": "filter changed", "time": "2026-05-01T12:00Z"}
    assert ask.post(f"{address}/maintenance", data=sent).status_code == 303
    assert "maintenance: filter changed" in words(ask.get(address).text)
    assert "filter changed" in ask.get(f"{address}/figure.svg").text
    assert ask.post(f"{address}/maintenance", data={"maintenance": " "}).status_code == 422


def test_an_aircraft_of_ones_own_comes_by_its_file(ask: Caller) -> None:
    owned(ask)
    assert "Too few checks" in words(ask.get("/aircraft").text)
    page = words(ask.get("/aircraft/d-own-1").text)
    assert "too few checks to judge the instrument" in page
    assert ask.get("/aircraft/d-own-1/report.pdf").status_code == 404
    for file, wrong in (
        ("name = 1", "expected `str`"),
        (OWN + "nam = 2", "unknown key"),
        ("[compass]\n", "missing"),
        ('name = "ZZ-OAK"', "is a demo aircraft"),
        ('name = "---"', "has no letters"),
    ):
        answer = ask.post("/aircraft", data={"file": file})
        assert answer.status_code == 422
        assert wrong in words(answer.text), file
    # The same name again is the same aircraft with another file.
    assert ask.post("/aircraft", data={"file": OWN.replace("48.0", "60.0")}).status_code == 303
    assert ask.get("/aircraft").text.count('href="/aircraft/d-own-1"') == 1


def test_a_swing_is_kept_shown_and_printed(ask: Caller, tmp_path: Path) -> None:
    # NGA, Handbook of Magnetic Compass Adjustment (2004), ch. V: deviations by compass heading.
    published = {0: 10.5, 45: 20.0, 90: 11.5, 135: -1.2, 180: -5.5, 225: -8.0, 270: -12.5, 315: -6.8}
    pairs = "magnetic_deg,compass_deg\n" + "".join(f"{(h + d) % 360},{h}\n" for h, d in published.items())
    address = owned(ask)
    sent = {"pairs": pairs, "day": "2026-05-02", "limit": "10"}
    assert ask.post(f"{address}/swing", data=sent).status_code == 303
    text = words(ask.get(address).text)
    assert re.search(r"B \+11\.94° \d\.\d\d \+12\.00", text)
    assert "exceeds the limit of 10.0°" in text
    card = poppler("pdftotext", ask.get(f"{address}/card.pdf").content, tmp_path, "-layout")
    assert "2026-05-02" in card
    wrong = ask.post(f"{address}/swing", data={**sent, "pairs": "magnetic_deg,compass_deg\n0,361\n"})
    assert "line 2, compass_deg: 361" in words(wrong.text)
    assert "0,361" in wrong.text
    # What was kept before stays.
    assert "exceeds the limit" in words(ask.get(address).text)
    assert ask.get("/aircraft/zz-oak/card.pdf").status_code == 404


def test_a_plan_of_a_flight_and_of_ones_own_waypoints(ask: Caller, tmp_path: Path) -> None:
    text = words(ask.get("/aircraft/zz-fir/plan?flight=eastbound_60n&date=2026-05-12").text)
    assert "For teaching only, not for navigation" in text
    assert "the aircraft's log" in text
    assert "0:00 before the start" in text
    own = {
        "flight": "own",
        "text": "name,latitude_deg,longitude_deg\nA,47,8\nB,48,9\n",
        "date": "2026-05-12",
        "limit": "4",
    }
    assert "B" in words(ask.post("/aircraft/zz-oak/plan", data=own).text)
    card = ask.post("/aircraft/zz-oak/plan/kneeboard.pdf", data=own)
    assert "not for navigation" in poppler("pdftotext", card.content, tmp_path)
    for changed, wrong in (
        ({"limit": "x"}, "limit: 'x' is not a number"),
        ({"date": "1.5.2026"}, "date: '1.5.2026' is not a day"),
        ({"text": "a,b\n1,2\n"}, "line 1: unknown column 'a'"),
        ({"flight": "none"}, "flight: 'none' is not in the list"),
        ({"wind": "270/150"}, "too strong"),
    ):
        answer = ask.post("/aircraft/zz-oak/plan", data={**own, **changed})
        assert answer.status_code == 422
        assert wrong in words(answer.text)


def test_bringing_it_to_class_opens_the_estimated_instrument(ask: Caller) -> None:
    html = ask.get("/aircraft/zz-ash").text
    bench = unescape(re.search(r'id="to-class" href="([^"]+)"', html)[1])  # type: ignore[index]
    scene = scene_at(parse_qs(urlsplit(bench).query)["state"][0])
    assert scene.aircraft[0].faults_at_start().bearings_worn > 0.3
    assert ask.get(bench).status_code == 200
    toml = ask.get("/aircraft/zz-ash/scene.toml").text
    kept = scene_from_text("scene", toml)
    assert broken_claims(kept, run_scene(kept, 300.0)) == []
    asked = words(ask.get("/aircraft/zz-ash/questions").text)
    assert "wander-real-left-over" in asked
    assert "worn" in asked
    assert ask.get(f"{owned(ask)}/questions").status_code == 404
