"""Answers that came when none was taken any more, and were given in time by their device's clock."""

from datetime import datetime, timedelta

import msgspec
import pytest

from lubberline.classroom.records import Answer, ClaimedTime, LateAnswer, Sitting
from lubberline.errors import InputError
from lubberline.store import times
from lubberline.store.database.tables import late_answers
from lubberline.store.export import table_csv
from lubberline.store.school import School
from tests.store.made import Taught, taught

ROOMS = ("answers", "sittings")


@pytest.fixture
def class_(school: School) -> Taught:
    return taught(school, 2)


def later(seconds: float, utc: str | None = None) -> str:
    moment = datetime.fromisoformat(utc or times.now_utc()) + timedelta(seconds=seconds)
    return moment.strftime(times.FORM)


def at(monkeypatch: pytest.MonkeyPatch, utc: str) -> None:
    for room in ROOMS:
        monkeypatch.setattr(f"lubberline.store.{room}.now_utc", lambda: utc)


def began(school: School, sitting: Sitting) -> str:
    return school.sittings.places(sitting.id)[0].began_utc


@pytest.fixture
def closed(school: School, class_: Taught, monkeypatch: pytest.MonkeyPatch) -> str:
    """When the paper was closed; it is five minutes after that now."""
    end = later(60.0, began(school, class_.paper))
    at(monkeypatch, end)
    school.sittings.move(class_.paper.id, closed=True)
    at(monkeypatch, later(300.0, end))
    return end


def to_paper(class_: Taught, sent: str = "sending-1", chosen: int = 1) -> Answer:
    return Answer(class_.paper.id, class_.students[0].id, "A1", chosen, sent=sent)


def test_one_given_in_time_waits_apart_and_counts_once_it_is_taken(
    school: School, class_: Taught, closed: str
) -> None:
    claim = ClaimedTime(later(-5.0, closed), later(-20.0, closed), 3.0)
    late = school.answers.receive(to_paper(class_), claim)
    assert isinstance(late, LateAnswer)
    assert (late.claim, late.came_utc, late.state) == (claim, later(300.0, closed), "waiting")
    # The same sending again is the same late answer, and nothing counts yet.
    again = school.answers.receive(to_paper(class_), claim)
    assert isinstance(again, LateAnswer)
    assert school.answers.of_sitting(class_.paper.id) == () == school.answers.trail(class_.paper.id)
    (kept,) = school.answers.late_of(class_.paper.id)
    assert school.counts()["late answers"] == 1
    assert school.answers.decide(class_.paper.id, kept.at, take=True) == 1
    assert [one.chosen for one in school.answers.of_sitting(class_.paper.id)] == [1]
    assert [one.sent for one in school.answers.trail(class_.paper.id)] == ["sending-1"]
    assert [one.state for one in school.answers.late_of(class_.paper.id)] == ["taken"]
    # Decided is decided; and a device that did not hear of it is told that it counts.
    assert school.answers.decide(class_.paper.id, kept.at, take=False) == 0
    assert isinstance(school.answers.receive(to_paper(class_), claim), Answer)


def test_a_later_one_takes_the_place_of_one_that_waits(school: School, class_: Taught, closed: str) -> None:
    claim = ClaimedTime(closed, closed)
    school.answers.receive(to_paper(class_, "sending-1", 1), claim)
    school.answers.receive(to_paper(class_, "sending-2", 2), claim)
    school.answers.receive(
        Answer(class_.paper.id, class_.students[1].id, "A2", value=6.0, sent="sending-3"), claim
    )
    assert [one.state for one in school.answers.late_of(class_.paper.id)] == [
        "replaced",
        "waiting",
        "waiting",
    ]
    assert school.answers.decide(class_.paper.id, None, take=True) == 2
    assert {(one.key, one.chosen, one.value) for one in school.answers.of_sitting(class_.paper.id)} == {
        ("A1", 2, None), ("A2", -1, 6.0),
    }  # fmt: skip


def test_one_that_is_not_taken_stays_in_the_trail(school: School, class_: Taught, closed: str) -> None:
    school.answers.receive(to_paper(class_), ClaimedTime(closed, closed))
    assert school.answers.decide(class_.paper.id, None, take=False) == 1
    assert school.answers.of_sitting(class_.paper.id) == ()
    (kept,) = school.answers.late_of(class_.paper.id)
    assert (kept.state, kept.decided_utc) == ("not taken", later(300.0, closed))


@pytest.mark.parametrize(
    ("given_s", "heard_s"),
    [
        (2.0, 0.0),  # after the end
        (400.0, 0.0),  # in the future
        (-30.0, -20.0),  # before the server was heard
        (-10.0, -3600.0),  # heard before the place was taken
    ],
)
def test_a_claim_that_cannot_be_or_is_too_late_is_none(
    school: School, class_: Taught, closed: str, given_s: float, heard_s: float
) -> None:
    claim = ClaimedTime(later(given_s, closed), later(heard_s, closed))
    with pytest.raises(InputError) as refused:
        school.answers.receive(to_paper(class_), claim)
    assert refused.value.code == "sitting-closed"
    assert school.answers.late_of(class_.paper.id) == ()


@pytest.mark.parametrize("text", ["", "yesterday", "2026-01-01", "2026-13-01T00:00:00Z", "9" * 40])
def test_a_time_that_is_none_is_no_claim(school: School, class_: Taught, closed: str, text: str) -> None:
    for claim in (
        ClaimedTime(text, closed),
        ClaimedTime(closed, text),
        ClaimedTime(closed, closed, float("nan")),
        None,
    ):
        with pytest.raises(InputError):
            school.answers.receive(to_paper(class_), claim)


def test_the_time_limit_counts_by_the_device_too(
    school: School, class_: Taught, monkeypatch: pytest.MonkeyPatch
) -> None:
    start = began(school, class_.paper)
    at(monkeypatch, later(3600.0, start))
    in_time = school.answers.receive(to_paper(class_), ClaimedTime(later(1790.0, start), start))
    assert isinstance(in_time, LateAnswer)
    with pytest.raises(InputError) as refused:
        school.answers.receive(to_paper(class_, "sending-2"), ClaimedTime(later(1900.0, start), start))
    assert refused.value.code == "time-over"


def test_a_lessons_question_was_open_while_its_step_was(
    school: School, class_: Taught, monkeypatch: pytest.MonkeyPatch
) -> None:
    lesson, ada = class_.lesson, class_.students[0].id
    start = began(school, lesson)
    at(monkeypatch, later(60.0, start))
    school.sittings.move(lesson.id, phase="closed")
    at(monkeypatch, later(120.0, start))
    school.sittings.move(lesson.id, step=3, phase="open")

    def given(sent: str, seconds: float) -> Answer | LateAnswer:
        claim = ClaimedTime(later(seconds, start), start)
        return school.answers.receive(Answer(lesson.id, ada, "step-2", 1, sent=sent), claim)

    assert isinstance(given("sending-1", 50.0), LateAnswer)
    with pytest.raises(InputError) as refused:
        given("sending-2", 90.0)
    assert refused.value.code == "question-closed"
    # Those that came together are told one by one.
    together = school.answers.receive_all(
        [Answer(lesson.id, ada, "step-2", 2, sent=sent) for sent in ("sending-3", "sending-4")],
        [ClaimedTime(later(55.0, start), start), None],
    )
    assert [type(one) for one in together] == [LateAnswer, InputError]


def test_late_answers_go_with_their_student_and_out_with_an_export(
    school: School, class_: Taught, closed: str
) -> None:
    school.answers.receive(to_paper(class_), ClaimedTime(closed, closed))
    text = school.transactions.read(lambda connection: table_csv(connection, late_answers))
    assert class_.students[0].name in text
    assert closed in text
    before = school.answers.late_of(class_.paper.id)
    gone = school.bin.delete("student", class_.students[0].id)
    assert school.answers.late_of(class_.paper.id) == ()
    school.bin.bring_back(gone.id)
    assert school.answers.late_of(class_.paper.id) == before
    school.bin.delete_for_good("student", class_.students[0].id)
    assert school.answers.late_of(class_.paper.id) == ()


def test_the_records_have_an_id_that_stays(school: School, class_: Taught) -> None:
    seat = school.sittings.seat(class_.paper.id, "")
    assert len(seat.records) == 16
    assert seat.place is None
    assert school.sittings.seat("none-such", "").sitting is None
    assert school.sittings.seat("none-such", "").records == seat.records


def test_one_id_for_two_questions_keeps_nobody_from_being_taken(
    school: School, class_: Taught, closed: str
) -> None:
    """What one device sends must not stand in the way of the others."""
    claim = ClaimedTime(later(-5.0, closed), later(-20.0, closed), 0.0)
    school.answers.receive(to_paper(class_, "sending-1"), claim)
    other = msgspec.structs.replace(to_paper(class_, "sending-2", 2), student=class_.students[1].id)
    school.answers.receive(other, claim)
    school.answers.put_all(
        [msgspec.structs.replace(to_paper(class_, "sending-1"), key="A2", chosen=-1, value=3.0)]
    )
    assert school.answers.decide(class_.paper.id, None, take=True) == 2
    kept = [(one.student, one.key, one.chosen) for one in school.answers.of_sitting(class_.paper.id)]
    first, second = (student.id for student in class_.students)
    assert sorted(kept) == sorted([(first, "A1", 1), (first, "A2", -1), (second, "A1", 2)])


def test_a_countdown_closes_the_question_without_any_page(
    school: School, class_: Taught, monkeypatch: pytest.MonkeyPatch
) -> None:
    lesson, ada = class_.lesson, class_.students[0].id
    start = began(school, lesson)
    monkeypatch.setattr("lubberline.store.sittings.now", lambda: datetime.fromisoformat(start))
    school.sittings.count_down(lesson.id, 30.0, closes=True)
    end = later(30.0, start)

    def give(utc: str, sent: str, given: str) -> Answer | LateAnswer:
        at(monkeypatch, utc)
        return school.answers.receive(
            Answer(lesson.id, ada, "step-2", 1, sent=sent), ClaimedTime(given, start, 0.0)
        )

    assert isinstance(give(later(-1.0, end), "sending-1", later(-1.0, end)), Answer)
    assert isinstance(give(later(1.0, end), "sending-2", later(-1.0, end)), LateAnswer)
    with pytest.raises(InputError) as refused:
        give(later(2.0, end), "sending-3", later(1.0, end))
    assert refused.value.code == "question-closed"
    now = school.sittings.sitting(lesson.id)
    assert (now.phase, now.countdown_utc, now.closes_utc) == ("closed", "", "")
    # What was given after the end stays too late when the lesson has moved on.
    at(monkeypatch, later(9.0, end))
    school.sittings.move(lesson.id, step=2, phase="open")
    with pytest.raises(InputError):
        give(later(10.0, end), "sending-4", later(3.0, end))


@pytest.mark.parametrize("stop", ["count", "reopen", "end"])
def test_a_stopped_countdown_closes_nothing_later(
    school: School, class_: Taught, monkeypatch: pytest.MonkeyPatch, stop: str
) -> None:
    lesson = class_.lesson
    school.sittings.count_down(lesson.id, 30.0, closes=True)
    if stop == "count":
        school.sittings.count_down(lesson.id, 0.0)
    elif stop == "reopen":
        school.sittings.move(lesson.id, phase="closed")
        school.sittings.move(lesson.id, phase="open")
    else:
        school.sittings.move(lesson.id, closed=True)
        school.sittings.move(lesson.id, closed=False)
    start = began(school, lesson)
    at(monkeypatch, later(60.0, start))
    assert school.sittings.sitting(lesson.id).phase == "open"
    answer = Answer(lesson.id, class_.students[0].id, "step-2", 1, sent="sending-1")
    at(monkeypatch, later(70.0, start))
    school.sittings.move(lesson.id, phase="closed")
    assert isinstance(school.answers.receive(answer, ClaimedTime(later(60.0, start), start, 0.0)), LateAnswer)


def test_a_rejected_one_has_a_way_back(school: School, class_: Taught, closed: str) -> None:
    claim = ClaimedTime(later(-5.0, closed), later(-20.0, closed), 3.0)
    late = school.answers.receive(to_paper(class_), claim)
    assert isinstance(late, LateAnswer)
    (at_,) = [one.at for one in school.answers.late_of(class_.paper.id)]
    assert school.answers.decide(class_.paper.id, at_, take=False) == 1
    # Nobody accepts it by accepting all that wait.
    assert school.answers.decide(class_.paper.id, None, take=True) == 0
    assert school.answers.of_sitting(class_.paper.id) == ()
    assert school.answers.decide(class_.paper.id, at_, take=True) == 1
    assert [one.chosen for one in school.answers.of_sitting(class_.paper.id)] == [1]
    assert [one.state for one in school.answers.late_of(class_.paper.id)] == ["taken"]
    # An accepted one counts: it is not taken back here.
    assert school.answers.decide(class_.paper.id, at_, take=False) == 0


def test_a_rejected_one_does_not_replace_a_later_one(school: School, class_: Taught, closed: str) -> None:
    claim = ClaimedTime(later(-5.0, closed), later(-20.0, closed), 3.0)
    school.answers.receive(to_paper(class_), claim)
    (first,) = [one.at for one in school.answers.late_of(class_.paper.id)]
    school.answers.decide(class_.paper.id, first, take=False)
    school.answers.receive(to_paper(class_, "sending-2", 2), claim)
    assert school.answers.decide(class_.paper.id, first, take=True) == 0
