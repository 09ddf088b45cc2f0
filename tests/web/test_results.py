"""Results: what the pages say is what diagnosis, statistics and readiness say of the same answers."""

import csv
import io
import re
import threading
import time
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from lubberline.classroom.diagnosis.diagnose import diagnose_all, teach_again
from lubberline.classroom.exam import usual_exam
from lubberline.classroom.marking import marked
from lubberline.classroom.readiness import readiness
from lubberline.classroom.records import Answer
from lubberline.classroom.statistics import item_statistics
from lubberline.publish.words import typeset
from lubberline.store.school import School, open_school
from lubberline.store.settings import DEMO_CLASS
from lubberline.web.app import create_app
from lubberline.web.results import drawings, exam
from lubberline.web.results.findings import WorkedOut, gather
from tests.poppler import poppler
from tests.web.caller import Caller
from tests.web.papers import asked, told, words

HOSTILE = "<script>alert(1)</script>"


@pytest.fixture(scope="module")
def school() -> Iterator[School]:
    found = open_school("memory")
    Caller(create_app(school=found)).post("/school/demo", data={"do": "add"})
    yield found
    found.close()


@pytest.fixture(scope="module")
def call(school: School) -> Caller:
    return Caller(create_app(school=school))


def plainly(text: str) -> str:
    """A text as the page has it."""
    return " ".join(typeset(text).split())


def group_of(school: School) -> Any:
    return school.demo.find()


def own_marks(school: School) -> dict[str, list[Any]]:
    """Every mark by student, by another way than the pages'."""
    found: dict[str, list[Any]] = {one.id: [] for one in school.people.students(group_of(school).id)}
    for sitting in reversed(school.sittings.listing(group_of(school).id)):
        for mark in marked(
            sitting, school.answers.of_sitting(sitting.id), school.answers.corrections_of(sitting.id)
        ):
            found.setdefault(mark.answer.student, []).append(mark)
    return found


def test_the_class_page_says_what_the_diagnosis_says(call: Caller, school: School) -> None:
    page = words(call.get("/results").text)
    found = diagnose_all(own_marks(school))
    first = teach_again(found)[0]
    assert f"1. {first.title[:1].upper()}{first.title[1:]}" in page
    html = call.get("/results").text
    assert f'href="/bench?scene={first.scene}"' in html
    assert len(re.findall(r'href="/results/student/', html)) >= 2 * len(found)
    likely = [law.held[0] for one in found.values() for law in one.laws if law.verdict == "holds"]
    assert likely
    boxes = [
        held for one in found.values() for law in one.laws for held in law.held if held.p >= drawings.LIKELY
    ]
    assert len(boxes) >= len(likely)
    assert html.count("d-box d-likely") == len(boxes) + 1, "one for each, and one in the key"
    for held in likely:
        assert all(plainly(statement) in page for statement in held.statements)


def test_marks_over_the_term_are_the_marks(call: Caller, school: School) -> None:
    gathered = gather(school, group_of(school))
    html = call.get("/results").text
    for student in gathered.students[:3]:
        row = re.search(rf'student/{student.id}">[^<]+</a> <span.*?</tr>', html, re.DOTALL)
        assert row
        shown = re.findall(r'<td class="number">([^<]+)</td>', row[0])
        expected = []
        for sitting in gathered.sittings:
            own = [mark for mark in gathered.by_sitting[sitting.id] if mark.answer.student == student.id]
            counted = [mark for mark in own if not mark.struck]
            share = sum(mark.points for mark in counted) / len(counted) if counted else None
            expected.append("–" if share is None else f"{round(100 * share)}%")
        assert shown == expected


def test_a_student_s_page_gives_the_answers_that_led_to_it(call: Caller, school: School) -> None:
    found = diagnose_all(own_marks(school))
    likely = {id: [law.held[0] for law in one.laws if law.verdict == "holds"] for id, one in found.items()}
    student = max(likely, key=lambda id: len(likely[id]))
    diagnosis = found[student]
    page = words(call.get(f"/results/student/{student}").text)
    assert diagnosis.sentence in page
    for held in likely[student]:
        assert f"{held.fitting} of {held.asked} answers fit it" in page
        for one in held.evidence:
            assert one.key in page
        assert plainly(held.mends[0]) in page
    exam_found = readiness(own_marks(school), usual_exam(), sittings=school.sittings.listing())
    ready = next(one for one in exam_found.students if one.student == student)
    assert f"{round(100 * ready.pass_chance)}%" in page
    assert "Ask these next" in page


def test_a_practice_paper_is_made_of_what_to_ask_next(call: Caller, school: School) -> None:
    student = gather(school, group_of(school)).students[0]
    before = len(school.sittings.listing())
    address = f"/results/student/{student.id}"
    # Nobody in the demo class sits anything new.
    assert "practice paper" not in call.get(address).text
    assert call.post(f"{address}/practice", data={"do": "make"}).status_code != 303
    asked_before = {mark.item.id for mark in own_marks(school)[student.id]}
    demo = school.settings.get(DEMO_CLASS)
    school.settings.put(DEMO_CLASS, "")
    assert "practice paper" in call.get(address).text
    answer = call.post(f"/results/student/{student.id}/practice", data={"do": "make"})
    assert answer.status_code == 303
    made = school.sittings.sitting(re.search(r"/sittings/([\w-]+)", answer.headers["location"])[1])  # type: ignore[index]
    assert made.title == f"Practice: {student.name}"
    assert len(made.asked) == 5
    assert not {one.item.id for one in made.asked} & asked_before
    school.bin.delete_for_good("sitting", made.id)
    assert len(school.sittings.listing()) == before
    school.settings.put(DEMO_CLASS, demo)


def test_items_are_shown_as_the_statistics_have_them(call: Caller, school: School) -> None:
    sitting = next(one for one in school.sittings.listing() if one.title == "End of course")
    html = call.get(f"/results/items?sitting={sitting.id}").text
    marks = marked(sitting, school.answers.of_sitting(sitting.id), school.answers.corrections_of(sitting.id))
    found = item_statistics(marks, by_model=True)
    page = words(html)
    assert f"{found.kr20:.2f} ({found.kr20_low:.2f} to {found.kr20_high:.2f})".replace("-", "−") in page
    for place, item in enumerate(found.items, start=1):
        assert f"{place}. {item.name}" in page
        for flag in item.flags:
            assert flag.split("'")[0] in page
    # The drawing says in words what it shows.
    assert "questions: the share of the class that answered each one right" in html
    rows = list(csv.DictReader(io.StringIO(call.get(f"/results/items/{sitting.id}/statistics.csv").text[1:])))
    assert [row["question"] for row in rows] == [item.name for item in found.items]
    assert call.get(f"/results/items/{sitting.id}/answered.csv").status_code == 200
    assert call.get(f"/results/items/{sitting.id}/secret").status_code == 422


def test_the_course_record_is_taken_as_pdf(call: Caller, school: School, tmp_path: Path) -> None:
    student = gather(school, group_of(school)).students[2]
    answer = call.get(f"/results/student/{student.id}/record.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    text = poppler("pdftotext", answer.content, tmp_path)
    assert student.name in text
    assert "End of course" in text
    others = {one.name for one in school.people.students(group_of(school).id)} - {student.name}
    assert not [name for name in others if name in text]
    assert call.get(f"/results/student/{student.id}/record.csv").status_code == 200
    assert call.get(f"/results/student/{student.id}/..%2Fx").status_code in (400, 404)
    assert call.get(f"/results/student/{student.id}/x").status_code == 422


def test_readiness_follows_the_exam_that_is_set(call: Caller, school: School) -> None:
    page = words(call.get("/results/readiness").text)
    found = readiness(own_marks(school), usual_exam(), sittings=school.sittings.listing())
    weakest = min(found.students, key=lambda one: one.pass_chance)
    assert page.index(school.people.student(weakest.student).name) < page.index("What would raise") + 200
    sent = {
        "title": "Hard exam",
        "mark": "95",
        "title1": "All of it",
        "topics1": "wander, compass",
        "mark1": "0",
    }
    wrong = call.post("/results/readiness", data={**sent, "questions1": "many"})
    assert wrong.status_code == 422
    assert "section 1, questions: 'many'" in told(wrong.text)
    assert 'value="Hard exam"' in wrong.text
    assert exam.exam_of(school) == usual_exam()
    assert call.post("/results/readiness", data={**sent, "questions1": "20"}).status_code == 303
    hard = words(call.get("/results/readiness").text)
    assert "20 questions, pass mark 95%" in hard
    again = readiness(own_marks(school), exam.exam_of(school), sittings=school.sittings.listing())
    assert sum(one.pass_chance for one in again.students) < sum(one.pass_chance for one in found.students)
    school.settings.put(exam.SETTING, "")


@pytest.mark.parametrize(
    "change",
    [
        {"mark": "130"},
        {"mark": "nan"},
        {"topics1": "wandr"},
        {"topics1": "wander", "topics2": "wander", "title2": "Again", "questions2": "3"},
        {"questions1": "0"},
        {"questions1": "999"},
        {"title1": "", "topics1": ""},
    ],
)
def test_an_exam_that_cannot_be_is_told(call: Caller, school: School, change: dict[str, str]) -> None:
    sent = {"mark": "60", "title1": "One", "topics1": "wander", "questions1": "10", "mark1": "60", **change}
    answer = call.post("/results/readiness", data=sent)
    assert answer.status_code == 422
    assert told(answer.text)
    assert exam.exam_of(school) == usual_exam()


@pytest.mark.parametrize("kept", ["{", "[" * 5000, '{"sections":[],"title":"None"}'])
def test_an_exam_that_cannot_be_read_is_told_and_not_passed_over(
    call: Caller, school: School, kept: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No act of the program keeps such a one; a damaged file may hold it."""
    student = next(one for group in school.people.groups() for one in school.people.students(group.id))
    pages = ("/results/readiness", f"/results/student/{student.id}")
    assert not any(exam.UNREADABLE in call.get(page).text for page in pages)
    settings = school.settings
    kept_of = settings.get
    monkeypatch.setattr(settings, "get", lambda name: kept if name == exam.SETTING else kept_of(name))
    assert all(exam.UNREADABLE in call.get(page).text for page in pages)


def test_what_was_worked_out_is_kept_until_an_answer_changes(school: School) -> None:
    before = gather(school, group_of(school)).digest
    assert gather(school, group_of(school)).digest == before
    sitting = school.sittings.listing()[0]
    old = school.answers.of_sitting(sitting.id)[0]
    school.answers.put_all([Answer(old.sitting, old.student, old.key, (old.chosen + 1) % 2)])
    assert gather(school, group_of(school)).digest != before
    school.answers.put_all([old])


def test_two_who_ask_at_once_wait_for_one_working() -> None:
    kept, worked, found = WorkedOut(most=2), [], []

    def slow() -> int:
        worked.append(1)
        time.sleep(0.05)
        return 7

    threads = [threading.Thread(target=lambda: found.append(kept.get("a", slow))) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [7, 7, 7, 7]
    assert worked == [1]
    for key in "bc":
        kept.get(key, slow)
    kept.get("a", slow)
    assert len(worked) == 4, "the oldest went"


def test_drawings_say_in_words_what_they_show() -> None:
    assert 'aria-label="over 99%"' in drawings.cell(0.999)
    assert "99+" in drawings.cell(0.999)
    assert "not asked" in drawings.cell(None)
    assert 'aria-label="Marks in order: 50%, away, 100%"' in drawings.strip([0.5, None, 1.0])
    assert 'aria-label="&lt;b&gt;"' in drawings.bar(0.5, words="<b>")


def test_who_was_deleted_is_left_as_counts_beside_the_statistics() -> None:
    school = open_school("memory")
    call = Caller(create_app(school=school))
    group = school.people.add_group("Spring")
    sitting = school.sittings.add(group.id, "paper", "Drift", asked())
    for name, chosen in (("Ada", 1), ("Ben", 0), ("Cleo", 0)):
        place = school.sittings.add_place(sitting.id, school.people.add_student(group.id, name).id, "A")
        school.answers.record(Answer(sitting.id, place.student, "A1", chosen=chosen))
        if name != "Ada":
            school.answers.record(Answer(sitting.id, place.student, "A3", value=7.0))
            school.bin.delete_for_good("student", place.student)
    page = words(call.get(f"/results/items?group={group.id}").text)
    assert "2 students of this sitting have been deleted" in page
    assert "Their answers, without names: A1: A 2; A3: a number 2." in page
    school.close()


def test_a_student_is_renamed_and_deleted_only_when_confirmed() -> None:
    school = open_school("memory")
    call = Caller(create_app(school=school))
    group = school.people.add_group("Spring")
    student = school.people.add_student(group.id, "Ada")
    sitting = school.sittings.add(group.id, "paper", "Drift", asked(("A",)), on_paper=True)
    school.sittings.add_place(sitting.id, student.id)
    school.answers.put_all([Answer(sitting.id, student.id, "A1", 1)])
    address = f"/results/student/{student.id}"
    assert call.post(address, data={"do": "rename", "name": HOSTILE, "number": "7"}).status_code == 303
    for page in (address, "/results", "/results/readiness", "/school/people"):
        html = call.get(page).text
        assert HOSTILE not in html, page
        assert "&lt;script&gt;" in html, page
    assert call.post(address, data={"do": "rename", "name": " "}).status_code == 422
    assert call.post(address, data={"do": "delete", "sure": "1"}).status_code == 422
    asks = f"/school/delete?kind=student&amp;key={student.id}&amp;back=/results%3Fgroup%3D{group.id}"
    assert asks in call.get(address).text
    assert call.get(unescape(asks)).status_code == 200
    assert school.answers.of_sitting(sitting.id)
    sent = {"kind": "student", "key": student.id, "back": f"/results?group={group.id}"}
    foreign = {"origin": "http://elsewhere.example"}
    assert call.post("/school/delete", data=sent, headers=foreign).status_code == 403
    gone = call.post("/school/delete", data=sent)
    assert gone.headers["location"].startswith(f"/results?group={group.id}&binned=")
    assert "Bring back" in call.get(gone.headers["location"]).text
    assert not school.answers.of_sitting(sitting.id)
    assert call.get(address).status_code == 404
    school.close()


def test_a_newcomer_sees_what_the_pages_are_for_and_one_button() -> None:
    school = open_school("memory")
    call = Caller(create_app(school=school))
    for address in ("/results", "/results/items", "/results/readiness", "/sittings"):
        answer = call.get(address)
        assert answer.status_code == 200
        assert "Load the demo class" in answer.text
    assert call.get("/results?group=nobody").status_code == 404
    group = school.people.add_group("Empty")
    assert "Empty has no answers yet" in words(call.get(f"/results?group={group.id}").text)
    student = school.people.add_student(group.id, "Ada")
    assert "No answers yet" in call.get(f"/results/student/{student.id}").text
    school.close()
