"""What is taken as an answer, and that closing and answering never cross."""

import threading
import time
from collections.abc import Callable

import pytest

from lubberline.classroom.records import Answer, Correction
from lubberline.errors import InputError
from lubberline.store.school import School
from tests.store.made import taught

INFINITE = float("inf")


NO_ANSWERS = (
    ("A1", {"chosen": 99}, "no option 99"),
    ("A1", {"chosen": -2}, "no option -2"),
    ("A1", {"value": 3.0}, "not a possible answer"),
    ("A2", {"chosen": 0}, "no option 0"),
    ("A2", {"value": INFINITE}, "not a possible answer"),
    ("A2", {"value": float("nan")}, "not a possible answer"),
    ("A1", {"chosen": 1, "seconds": -1.0}, "time taken is invalid"),
    ("A1", {"chosen": 1, "seconds": INFINITE}, "time taken is invalid"),
    ("A1", {"chosen": 1, "sent": "s" * 101}, "sent"),
    ("A1", {"chosen": 1, "sent": "a\0"}, "sent"),
    ("Z9", {"chosen": 1}, "not in this paper"),
)


def test_what_is_no_answer_is_refused(school: School) -> None:
    class_ = taught(school)
    for key, given, wrong in NO_ANSWERS:
        answer = Answer(class_.paper.id, class_.students[0].id, key, **{"sent": "a", **given})
        with pytest.raises(InputError, match=wrong):
            school.answers.record(answer)
        with pytest.raises(InputError, match=wrong):
            school.answers.put_all([answer])
    assert school.answers.trail(class_.paper.id) == ()


def test_an_answer_comes_back_whole(school: School) -> None:
    class_ = taught(school)
    given = Answer(class_.paper.id, class_.students[0].id, "A2", value=-6.25, sent="a", seconds=12.5)
    kept = school.answers.record(given)
    assert kept.answered_utc
    assert (kept.value, kept.seconds, kept.sent) == (-6.25, 12.5, "a")
    assert school.answers.record(given) == kept
    assert school.answers.of_sitting(class_.paper.id) == (kept,)
    assert school.answers.of_student(kept.student) == (kept,)
    assert school.answers.trail(class_.paper.id) == (kept,)


def test_a_sending_is_of_one_question(school: School) -> None:
    """A page that gave two answers one id must hear of it, not lose the second."""
    class_ = taught(school)
    ada = class_.students[0].id
    school.answers.record(Answer(class_.paper.id, ada, "A1", 1, sent="a"))
    with pytest.raises(InputError, match="another question"):
        school.answers.record(Answer(class_.paper.id, ada, "A2", value=6.0, sent="a"))


def test_an_answer_taken_back_is_blank_and_the_trail_has_it(school: School) -> None:
    class_ = taught(school)
    ada = class_.students[0].id
    school.answers.record(Answer(class_.paper.id, ada, "A1", 1, sent="a"))
    assert school.answers.record(Answer(class_.paper.id, ada, "A1", sent="b")).blank
    assert [one.chosen for one in school.answers.trail(class_.paper.id)] == [1, -1]


def test_paper_answers_make_places_and_keep_to_the_form(school: School) -> None:
    class_ = taught(school)
    zoe = school.people.add_student(class_.paper.group, "Zoe")
    school.answers.put_all([Answer(class_.paper.id, zoe.id, "B1", value=6.0)])
    (place,) = school.sittings.places_of(zoe.id)
    assert place.form == "B"
    with pytest.raises(InputError, match="form A"):
        school.answers.put_all([Answer(class_.paper.id, zoe.id, "A1", 1)])
    other = taught(school)
    with pytest.raises(InputError, match="another class"):
        school.answers.put_all([Answer(class_.paper.id, other.students[0].id, "A1", 1)])


def test_a_correction_is_of_a_question_and_a_student_of_the_class(school: School) -> None:
    class_, other = taught(school), taught(school)
    paper, ada = class_.paper.id, class_.students[0].id
    for sitting, student, key, field, wrong in (
        ("none", ada, "A1", "points", "sitting"),
        (paper, "nobody", "A1", "points", "no student"),
        (paper, other.students[0].id, "A1", "points", "another class"),
        (paper, ada, "Z9", "points", "not in this sitting"),
        (paper, ada, "A1", "name", "field"),
    ):
        with pytest.raises(InputError, match=wrong):
            school.answers.correct(Correction(sitting, student, key, "N. N.", "", "why", field, "0", "1"))
    assert school.answers.corrections_of(paper) == ()


def test_some_of_those_that_came_together_may_be_refused(school: School) -> None:
    class_ = taught(school)
    ada, bo = (one.id for one in class_.students[:2])
    given = [Answer(class_.paper.id, student, "A1", 1, sent="a") for student in (bo, "nobody", ada)]
    kept = school.answers.receive_all(given)
    assert [type(one) for one in kept] == [Answer, InputError, Answer]
    assert {one.student for one in school.answers.of_sitting(class_.paper.id)} == {ada, bo}


@pytest.mark.parametrize("change", [{"closed": True}, {"phase": "closed"}, {"step": 2}])
def test_nothing_is_taken_after_it_was_closed(opened: Callable[[], School], change: dict) -> None:
    """Closed on one server while eight students answer on the other: what counts stands still at once."""
    teaching, answering = opened(), opened()
    class_ = taught(teaching, count=8)
    stop = threading.Event()
    refused: list[str] = []

    def answer(student: str) -> None:
        count = 0
        while not stop.is_set():
            count += 1
            try:
                answering.answers.record(
                    Answer(class_.lesson.id, student, "step-2", count % 4, sent=str(count))
                )
            except InputError as error:
                refused.append(error.wrong)
                return

    threads = [threading.Thread(target=answer, args=(one.id,)) for one in class_.students]
    for thread in threads:
        thread.start()
    while len(teaching.answers.trail(class_.lesson.id)) < 20:
        time.sleep(0.01)
    teaching.sittings.move(class_.lesson.id, **change)
    at_closing = teaching.answers.trail(class_.lesson.id)
    for thread in threads:
        thread.join(30.0)
    stop.set()
    assert refused == ["it is closed"] * 8
    assert teaching.answers.trail(class_.lesson.id) == at_closing


def test_deleting_and_answering_at_once_leaves_no_half(opened: Callable[[], School]) -> None:
    deleting, answering = opened(), opened()
    class_ = taught(deleting, count=6)
    strange: list[BaseException] = []

    def answer(student: str) -> None:
        for count in range(200):
            given = Answer(class_.lesson.id, student, "step-2", count % 4, sent=str(count))
            try:
                answering.answers.record(given)
            except InputError as error:
                if "not joined it" not in error.wrong:
                    strange.append(error)
                return
            except BaseException as error:
                strange.append(error)
                return

    threads = [threading.Thread(target=answer, args=(one.id,)) for one in class_.students]
    for thread in threads:
        thread.start()
    for one in class_.students:
        deleting.bin.delete_for_good("student", one.id)
    for thread in threads:
        thread.join(30.0)
    assert strange == []
    assert deleting.answers.trail(class_.lesson.id) == ()
    assert deleting.people.students(class_.lesson.group) == ()


def test_ids_that_no_text_holds_are_nobodys(school: School) -> None:
    """They come from addresses that somebody typed into a browser."""
    for id in ("a\0b", "\ud800", "x" * 100_000, "'; drop table answers; --"):
        with pytest.raises(InputError):
            school.sittings.sitting(id)
        with pytest.raises(InputError):
            school.people.student(id)
    assert school.sittings.by_code("a\0b\ud800") is None


def test_a_setting_that_servers_make_at_once_is_one(opened: Callable[[], School]) -> None:
    schools = [opened(), opened()]
    found: list[str] = []

    def settle(k: int) -> None:
        found.append(schools[k % 2].settings.settle("session-key", f"made-by-{k}-{'x' * 20}"))

    threads = [threading.Thread(target=settle, args=(k,)) for k in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30.0)
    assert len(found) == 12
    assert set(found) == {schools[0].settings.get("session-key")}


def test_an_entry_that_two_servers_are_sent_at_once_is_one(opened: Callable[[], School]) -> None:
    schools = [opened(), opened()]
    start = threading.Barrier(8)
    made: list[str] = []

    def send(k: int) -> None:
        start.wait(30.0)
        for sent in ("sending-1", "sending-2"):
            made.append(schools[k % 2].log.add("ZZ-OAK", {"indicated": "270"}, {"sent": sent}).id)

    threads = [threading.Thread(target=send, args=(k,)) for k in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30.0)
    assert len(made) == 16
    kept = schools[0].log.entries("ZZ-OAK")
    assert sorted(str(one.understood["sent"]) for one in kept) == ["sending-1", "sending-2"]
    assert {one.id for one in kept} == set(made)


def test_the_log_takes_plain_values_only_and_tells_what_became_of_what(school: School) -> None:
    for understood in ({"deg": INFINITE}, {"deg": {1, 2}}, {"text": "\ud800"}):
        with pytest.raises(InputError, match="understood"):
            school.log.add("ZZ-OAK", {}, understood)
    entry = school.log.add("ZZ-OAK", {"indicated": "27o"}, {})
    for typed in ("271", "270"):
        school.log.correct(entry.id, "N. N.", "misread", {"indicated": typed}, {"deg": float(typed)})
    told = [
        (one.typed_before["indicated"], one.typed_after["indicated"], one.understood_after.get("deg"))
        for one in school.log.trail("ZZ-OAK")
    ]
    assert told == [("27o", "271", 271.0), ("271", "270", 270.0)]
