"""A lesson being taught: the order of its acts, and what each audience may see at each of them."""

from functools import cache
from pathlib import Path

import msgspec
import pytest

from lubberline.classroom.lessons import audiences, own_answers, teaching
from lubberline.classroom.lessons.file import lesson_from_text, read_lesson
from lubberline.classroom.lessons.questions import TaughtLesson, taught_lesson
from lubberline.classroom.lessons.teaching import CLOSED, JOINING, OPEN, SHOWN
from lubberline.classroom.records import Answer, Place, Sitting
from lubberline.errors import InputError

FILE = Path(__file__).parents[1] / "web" / "class_lesson.md"
NAMES = {"s1": "Ada", "s2": "Ben", "s3": "Cleo"}
PLACES = tuple(Place("l", student) for student in NAMES)


@cache
def lesson() -> TaughtLesson:
    return taught_lesson(read_lesson(FILE))


def at(step: int, phase: str = OPEN, closed: str = "") -> tuple[Sitting, teaching.Standing]:
    sitting = Sitting(
        "l", "g", "lesson", "Drift", "2026-01-01T00:00:00Z", closed, lesson().asked, code="ABCDEF",
        step=step, phase=phase,
    )  # fmt: skip
    return sitting, teaching.standing(sitting, lesson())


def dial(student: str, value: float) -> Answer:
    return Answer("l", student, "step-2", value=value, sent=student)


ANSWERS = (dial("s1", 357.0), dial("s2", 0.2), dial("s3", 359.9))


def test_pressing_the_first_button_again_and_again_teaches_the_whole_lesson():
    sitting, stands = at(JOINING, CLOSED)
    done = []
    while not done or done[-1][0] != "end":
        act = teaching.acts(lesson(), stands)[0]
        done.append((act.do, stands.index, stands.phase))
        if act.do == "end":
            break
        step, phase = teaching.moved(lesson(), stands, act.do)
        sitting = msgspec.structs.replace(sitting, step=step, phase=phase)
        stands = teaching.standing(sitting, lesson())
    ask, play, quiz = ["close", "next"], ["play", "tell", "next"], ["close", "tell", "next"]
    wanted = ["next", "next", *ask, *play, "next", *ask, *play, *quiz, "end"]
    assert [do for do, _, _ in done] == wanted


@pytest.mark.parametrize(
    ("step", "phase", "do"),
    [(0, OPEN, "close"), (1, OPEN, "tell"), (1, OPEN, "play"), (JOINING, CLOSED, "back"), (7, OPEN, "next")],
)
def test_what_cannot_be_done_now_is_refused(step, phase, do):
    with pytest.raises(InputError):
        teaching.moved(lesson(), at(step, phase)[1], do)


def test_a_lesson_that_is_over_stays_so():
    _, stands = at(1, OPEN, "2026-01-01T01:00:00Z")
    assert teaching.acts(lesson(), stands) == ()
    with pytest.raises(InputError, match="ended"):
        teaching.moved(lesson(), stands, "next")


def test_whoever_goes_back_to_a_question_has_to_open_it_again():
    assert teaching.moved(lesson(), at(2, SHOWN)[1], "back") == (1, CLOSED)
    assert teaching.moved(lesson(), at(1, CLOSED)[1], "open") == (1, OPEN)
    assert teaching.moved(lesson(), at(5, SHOWN)[1], "go", 1) == (1, CLOSED)
    with pytest.raises(InputError, match="no step"):
        teaching.moved(lesson(), at(5, SHOWN)[1], "go", 99)


def test_the_ghosts_are_the_commonest_ideas_of_this_class():
    _, stands = at(2, OPEN)
    assert teaching.ghosts_of(stands, ANSWERS) == (("no-earth-wander", 2),)
    more = (*ANSWERS, *(dial(f"x{k}", 2.7) for k in range(3)), dial("y", 356.2), dial("z", 90.0))
    found = (("rises-in-the-north", 3), ("no-earth-wander", 2), ("same-wander-everywhere", 1))
    assert teaching.ghosts_of(stands, more) == found
    assert teaching.ghosts_of(stands, ()) == ()


def told_students() -> set[tuple[int, str]]:
    return {(2, SHOWN), (5, SHOWN), (6, SHOWN)}


HIDDEN = (
    "WHY-IT-IS-SO",
    "NOTES-FOR-ONE",
    "no-earth-wander",
    "misconception",
    "slips",
    "357.3",
    "good gyro does",
)


@pytest.mark.parametrize("phase", [OPEN, CLOSED, SHOWN])
@pytest.mark.parametrize("step", range(-1, 8))
def test_students_and_projector_see_what_is_right_only_when_told(step, phase):
    sitting, stands = at(step, phase)
    seen = msgspec.json.encode(audiences.seen_by_all(sitting, lesson(), stands)).decode()
    own = msgspec.json.encode(own_answers.seen_alone("Ben", stands, ANSWERS[1:2])).decode()
    screen = audiences.seen_on_projector(sitting, lesson(), stands, PLACES, ANSWERS)
    is_told = (step, phase) in told_students()
    for hidden in HIDDEN:
        assert hidden not in seen
        if not is_told:
            assert hidden not in own
    assert ("told" in own and '"told":[]' not in own) == is_told
    if not is_told:
        assert all(one.truth is None and one.right_option == -1 for one in screen.spreads)
        assert all(not one.truth_words and one.ideas == () for one in screen.spreads)
    shown = msgspec.json.encode(screen).decode()
    for hidden in ("NOTES-FOR-ONE", "Ada", "Ben", "Cleo"):
        assert hidden not in shown


def test_while_a_question_is_open_the_class_sees_how_many_answered_and_not_what():
    sitting, stands = at(1, OPEN)
    screen = audiences.seen_on_projector(sitting, lesson(), stands, PLACES, ANSWERS[:2])
    assert (screen.joined, screen.answered, screen.spreads, screen.ghosts) == (3, 2, (), ())
    sitting, stands = at(1, CLOSED)
    (spread,) = audiences.seen_on_projector(sitting, lesson(), stands, PLACES, ANSWERS).spreads
    assert spread.values == (0.2, 357.0, 359.9)


@pytest.mark.parametrize("phase", [OPEN, CLOSED])
def test_beside_what_happens_stands_what_the_class_expects_and_each_students_own_answer(phase):
    sitting, stands = at(2, phase)
    (spread,) = audiences.seen_on_projector(sitting, lesson(), stands, PLACES, ANSWERS).spreads
    assert (spread.values, spread.truth, spread.truth_words) == ((0.2, 357.0, 359.9), None, "")
    own = own_answers.seen_alone("Ada", stands, ANSWERS[:1])
    assert (own.expects, own.told) == (("357°",), ())
    for step, other in ((1, phase), (2, SHOWN), (6, phase)):
        assert own_answers.seen_alone("Ada", at(step, other)[1], ANSWERS[:1]).expects == ()


def test_each_student_is_told_which_idea_the_answer_fits_and_why_it_fails():
    _, stands = at(2, SHOWN)
    (right,) = own_answers.seen_alone("Ada", stands, ANSWERS[:1]).told
    assert (right.right, right.own, right.truth, right.idea) == (True, "357°", "357°", "")
    assert right.why.startswith("WHY-IT-IS-SO")
    (wrong,) = own_answers.seen_alone("Ben", stands, ANSWERS[1:2]).told
    assert (wrong.right, wrong.own) == (False, "000°")
    assert "doesn't drift" in wrong.idea
    assert "357.3" in wrong.why
    (blank,) = own_answers.seen_alone("Dov", stands, ()).told
    assert (blank.own, blank.idea, blank.right) == ("", "", False)


def test_the_instructor_sees_names_and_answers_at_any_time():
    sitting, stands = at(1, OPEN)
    led = audiences.seen_by_instructor(sitting, lesson(), stands, PLACES, ANSWERS[:1], NAMES)
    assert [(one.name, one.answered) for one in led.students] == [("Ben", 0), ("Cleo", 0), ("Ada", 1)]
    assert led.spreads[0].truth == pytest.approx(357.34, abs=0.05)
    assert "good gyro" in led.notes
    assert [kind for kind, _, _ in led.to_come][:2] == ["reveal", "explain"]
    assert (led.minutes, led.minutes_before) == (1.5, 0.5)


def test_what_the_bench_plays():
    reveal = teaching.shown_in(lesson(), at(2, OPEN)[1])
    assert (reveal.scene, reveal.to_s, reveal.pace) == ("fifteen_minutes_45n", 900.0, 600.0)
    stands = teaching.shown_in(lesson(), at(1, OPEN)[1])
    assert (stands.scene, stands.to_s) == ("fifteen_minutes_45n", 0.0)
    assert teaching.shown_in(lesson(), at(JOINING)[1]) is None
    assert teaching.shown_in(lesson(), at(6, OPEN)[1]) is None


@pytest.mark.parametrize(
    ("step", "phase", "scene", "to_s", "stage"),
    [
        # Before the first scene, the bench waits where the question will find it.
        (0, OPEN, "fifteen_minutes_45n", 0.0, "done"),
        (1, OPEN, "fifteen_minutes_45n", 0.0, "done"),
        (2, OPEN, "fifteen_minutes_45n", 900.0, "ready"),
        (2, CLOSED, "fifteen_minutes_45n", 900.0, "playing"),
        # During an explanation it stays where the reveal left it; after the quiz, too.
        (3, OPEN, "fifteen_minutes_45n", 900.0, "done"),
        (7, OPEN, "rigidity", 60.0, "done"),
    ],
)
def test_while_somebody_talks_the_bench_shows_what_it_is_about(step, phase, scene, to_s, stage):
    sitting, stands = at(step, phase)
    screen = audiences.seen_on_projector(sitting, lesson(), stands, PLACES, ANSWERS)
    assert (screen.show.scene, screen.show.to_s, screen.stage) == (scene, to_s, stage)
    # Beside an explanation the ghosts of the class's own ideas stay.
    assert [(one.id, one.count) for one in screen.ghosts] == (
        [("no-earth-wander", 2)] if step in (2, 3) else []
    )


def test_an_explanation_can_name_its_own_scene():
    text = FILE.read_text().replace(
        "short: The Earth turns", "scene: rigidity\nto: 20\nshort: The Earth turns"
    )
    made = taught_lesson(lesson_from_text("lesson.md", text))
    stands = teaching.standing(at(3)[0], made)
    assert (teaching.shown_in(made, stands).scene, stands.stage) == ("rigidity", "playing")
    assert teaching.acts(made, stands)[0].do == "next"
