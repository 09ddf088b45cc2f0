"""The students' side: joining, answers that are kept, and what is told to whom."""

import json
import logging
from typing import Any

import httpx
import pytest

from lubberline.classroom.records import Answer, Sitting
from lubberline.web import passphrase
from lubberline.web.rate_limit import Tries
from lubberline.web.refusals import Refused
from tests.web.papers import whose_of
from tests.web.pretend import HOSTILE
from tests.web.sides import HERE, WORDS, From, join, log_in
from tests.web.sides import app as app
from tests.web.sides import phone as phone
from tests.web.sides import school as school
from tests.web.sides import sitting as sitting


def test_a_class_is_joined_and_a_browser_gets_its_own_place_again(phone, school, sitting):
    joined = join(phone, f" {sitting.code[:3].lower()}-{sitting.code[3:]} ")
    assert (joined.status_code, joined.headers["location"]) == (303, f"/class/{sitting.id}")
    assert "httponly" in joined.headers["set-cookie"].lower()
    join(phone, sitting.code, "Somebody else")
    assert [school.people.student(place.student).name for place in school.sittings.places(sitting.id)] == [
        "Ada"
    ]
    assert phone.get(f"/class/{sitting.id}/state").json()["own"]["name"] == "Ada"


def test_codes_cannot_be_guessed_in_bulk(app, phone, sitting):
    codes = [f"{k:06d}" for k in range(40)]
    answers = [join(phone, code).status_code for code in codes]
    assert answers[:20] == [404] * 20
    assert set(answers[20:]) == {429}
    # Not even the right one, or whoever guesses would learn which it is.
    assert join(phone, sitting.code).status_code == 429
    other = From(app, ("192.168.7.32", 50000), "http://hangar.local:8765")
    assert join(other, sitting.code, "Ben").status_code == 303


def test_many_devices_together_cannot_guess_either():
    now = [0.0]
    tries = Tries(each=20, each_per_min=20, together=300, together_per_min=120, clock=lambda: now[0])
    passed = 0
    for second in range(600):
        now[0] = float(second)
        for device in range(100):
            try:
                tries.check(f"device-{second}-{device}")
            except Refused:
                continue
            tries.failed(f"device-{second}-{device}")
            passed += 1
    # Ten minutes: 300 at once and two a second, of 30 ** 6 codes.
    assert passed <= 300 + 120 * 10 + 1


@pytest.mark.parametrize("name", [HOSTILE, "<img src=x onerror=alert(1)>", "'\";--", "Ada\u202eadA"])
def test_html_in_a_name_is_shown_as_text(app, phone, school, sitting, name):
    assert join(phone, sitting.code, name[:60]).status_code == 303
    here = From(app, HERE, "http://127.0.0.1:8765")
    for page in (phone.get(f"/class/{sitting.id}"), here.get(f"/teach/{sitting.id}")):
        assert page.status_code == 200
        assert "<script>alert" not in page.text
        assert "<img src=x" not in page.text


@pytest.mark.parametrize("name", ["", " \t", "\u200b", "x" * 61])
def test_a_name_that_is_none_is_refused_with_the_form(phone, sitting, name):
    refused = join(phone, sitting.code, name)
    assert refused.status_code == 422
    assert 'role="alert"' in refused.text


def answer(phone: From, sitting: Sitting, key: str, sent: str, **given: Any) -> httpx.Response:
    whose = whose_of(phone.get(f"/class/{sitting.id}").text)
    return phone.post(f"/class/{sitting.id}/answer", json={"key": key, "sent": sent, "for": whose, **given})


def test_an_answer_is_acknowledged_once_it_is_kept_and_counts_once(phone, school, sitting):
    join(phone, sitting.code)
    for _ in range(3):
        kept = answer(phone, sitting, "step-2", "sending-1", value=357.0)
        assert kept.json()["kept"] == {"key": "step-2", "sent": "sending-1", "value": 357.0}
    answer(phone, sitting, "step-2", "sending-2", value=-3.0)
    answer(phone, sitting, "step-2", "sending-1", value=357.0)
    (only,) = school.answers.of_sitting(sitting.id)
    assert (only.value, only.sent) == (357.0, "sending-2")


@pytest.mark.parametrize(
    ("given", "status"),
    [
        ({"key": "step-2", "sent": "sending-1"}, 422),
        ({"key": "step-2", "sent": "short", "value": 1.0}, 422),
        ({"key": "step-2", "sent": "sending-1", "value": 1e300}, 422),
        ({"key": "step-2", "sent": "sending-1", "value": "one"}, 422),
        ({"key": "step-2", "sent": "sending-1", "value": 1.0, "student": "x"}, 422),
        ({"key": "step-99", "sent": "sending-1", "value": 1.0}, 422),
        ({"key": "step-5", "sent": "sending-1", "chosen": 0}, 409),  # not open
        ({"key": "step-5", "sent": "sending-1", "chosen": 7}, 422),
        ({"key": "step-5", "sent": "sending-1", "place": 3}, 422),
        ({"key": "step-2", "sent": "sending-1", "place": 0}, 422),
        ("not an object", 422),
    ],
)
def test_an_answer_that_is_none_is_refused(phone, school, sitting, given, status):
    join(phone, sitting.code)
    whose = whose_of(phone.get(f"/class/{sitting.id}").text)
    body = {"for": whose, **given} if isinstance(given, dict) else given
    assert phone.post(f"/class/{sitting.id}/answer", json=body).status_code == status
    assert school.answers.of_sitting(sitting.id) == ()


def test_nobody_answers_for_another_or_without_a_place(app, phone, school, sitting):
    assert answer(phone, sitting, "step-2", "sending-1", value=1.0).status_code in (403, 409)
    assert phone.get(f"/class/{sitting.id}/state").json()["error"]["code"] == "no-place"
    assert phone.get(f"/class/{sitting.id}").headers["location"] == "/join"
    other = school.people.add_student(sitting.group, "Ben")
    school.sittings.add_place(sitting.id, other.id)
    phone.cookies.set("seat", "")
    assert answer(phone, sitting, "step-2", "sending-1", value=1.0).status_code in (403, 409)


@pytest.mark.parametrize(
    ("what", "code"), [("records", "other-records"), ("place", "no-place"), ("holder", "no-place")]
)
def test_a_sending_that_is_for_others_is_not_taken(phone, school, sitting, what, code):
    """As from the page of another school at this address, or of who had this device before."""
    join(phone, sitting.code)
    sent = {"key": "step-2", "sent": "sending-1", "value": 1.0}
    sent["for"] = {**whose_of(phone.get(f"/class/{sitting.id}").text), what: "another"}
    refused = phone.post(f"/class/{sitting.id}/answer", json=sent).json()["error"]
    assert (refused["code"], refused["sent"]) == (code, "sending-1")
    assert school.answers.of_sitting(sitting.id) == ()


def test_large_bodies_are_refused_on_the_students_side(phone, sitting):
    join(phone, sitting.code)
    large = phone.post(f"/class/{sitting.id}/answer", content=b"x" * 1_000_001)
    assert large.status_code == 413
    assert phone.post(f"/class/{sitting.id}/answer", content=b"[" * 4_001).status_code == 413


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://127.0.0.1:8765"])
def test_another_sites_page_cannot_answer(phone, school, sitting, origin):
    join(phone, sitting.code)
    sent = answer
    refused = phone.post(
        f"/class/{sitting.id}/answer",
        json={"key": "step-2", "sent": "sending-1", "value": 1.0},
        headers={"origin": origin},
    )
    assert refused.status_code == 403
    assert school.answers.of_sitting(sitting.id) == ()
    assert sent(phone, sitting, "step-2", "sending-1", value=1.0).status_code == 200


@pytest.mark.parametrize(("site", "mode", "status"), [
    ("cross-site", "navigate", 200), ("cross-site", "no-cors", 403), ("same-site", "cors", 403),
    ("same-origin", "cors", 200), ("none", "navigate", 200),
])  # fmt: skip
def test_other_sites_may_link_here_and_no_more(phone, site, mode, status):
    headers = {"sec-fetch-site": site, "sec-fetch-mode": mode}
    assert phone.get("/join", headers=headers).status_code == status


def test_no_secret_gets_into_a_log(app, phone, school, sitting, caplog, monkeypatch):
    caplog.set_level(logging.DEBUG)
    passphrase.set_passphrase(school, WORDS)
    here = From(app, HERE, "http://127.0.0.1:8765")
    log_in(here, "a guess that is wrong")
    log_in(here)
    join(phone, sitting.code, "Ada Secretname")
    answer(phone, sitting, "step-2", "sending-1", value=357.25)

    def broken(*_: Any) -> None:
        raise RuntimeError("the disk is full")

    monkeypatch.setattr(school.answers, "receive_all", broken)
    assert answer(phone, sitting, "step-2", "sending-2", value=1.0).status_code == 500
    secrets = [WORDS, "a guess that is wrong", sitting.code, "Secretname", "357.25"]
    secrets += [value for jar in (phone.cookies, here.cookies) for value in jar.values()]
    written = "\n".join(
        record.getMessage() for record in caplog.records if not record.name.startswith("http")
    )
    for secret in secrets:
        assert secret
        assert secret not in written


def test_what_is_sent_to_students_holds_no_key_and_no_one_elses_answer(app, phone, school, sitting):
    join(phone, sitting.code)
    other = school.people.add_student(sitting.group, "Zebedee")
    school.sittings.add_place(sitting.id, other.id)
    school.answers.record(Answer(sitting.id, other.id, "step-2", value=123.25, sent="of another"))
    for page in ("", "/state"):
        told = phone.get(f"/class/{sitting.id}{page}").text
        for hidden in (
            "WHY-IT-IS-SO",
            "NOTES-FOR-ONE",
            "357.3",
            "Zebedee",
            "123.25",
            "no-earth-wander",
            "slips",
        ):
            assert hidden not in told
    assert json.loads(phone.get(f"/class/{sitting.id}/state").text)["own"]["told"] == []
