"""A school's own words: on every page, paper and sentence that its class reads."""

import re
from pathlib import Path
from typing import Any

import msgspec
from msgspec import structs

from lubberline.classroom.diagnosis.words import quoted
from lubberline.classroom.lessons.own_answers import statement_of, told_of
from lubberline.classroom.records import Answer
from lubberline.simulation.misconceptions.idea import SPOKEN, spoken, spoken_of_parts
from lubberline.simulation.words import words_from_text
from lubberline.store.school import School
from lubberline.web.bench.real_time import Playing
from lubberline.web.bench.rooms import Room
from lubberline.web.teach.views import Snapshot
from tests.web.caller import Caller
from tests.web.test_own_scenes import app as app
from tests.web.test_own_scenes import call as call
from tests.web.test_own_scenes import folder as folder
from tests.web.test_own_scenes import school as school


def test_own_words_are_on_stage_and_bench(call: Caller, app: Any) -> None:
    text = '[parts]\ncard = "Skala"\n\n[ideas]\nno-earth-wander = "Die Erde steht."\n'
    assert call.post("/school/words", files={"name": (None, "deutsch")}).status_code == 303
    assert (
        "line 2, parts"
        in call.post("/school/words/deutsch", data={"text": text.replace("card", "cart")}).text
    )
    assert call.post("/school/words/deutsch/save", data={"text": text}).status_code == 303
    assert '<option value="card">Skala</option>' in call.get("/stage").text
    assert call.post("/lessons/quiz/save", data={"text": QUIZ}).status_code == 303
    led = call.post("/teach", files={"new_group": (None, "Spring"), "lesson": (None, "quiz")})
    projector = re.match(r"/teach/[^/?]+", led.headers["location"])
    assert projector
    for page in ("/stage", "/bench", f"{projector[0]}/projector"):
        assert 'id="part-words">{"card": "Skala"}</script>' in call.get(page).text


SPOKEN_WORDS = """[ideas]
same-wander-everywhere = "Die Erde steht."

[terms]
"apparent wander" = "Scheindrift"
"heading indicator" = "Kursanzeiger"
gyro = "Kreisel"
"""
QUIZ = """# A quiz

minutes: 5
aim: Ask.

## Quiz: Three
models: wander-rate, wander-claims, wander-after-a-time
"""
WANDER = 'title = "Short"\n\n[[topic]]\nname = "wander"\nrecall = 2\napply = 4\njudge = 2\n'


def said_everywhere(call: Caller, school: School) -> dict[str, str]:
    """What is said where, by place."""
    made = {"blueprint": "own", "text": WANDER, "seed": "1", "forms": "A", "key": "1"}
    seen = {
        "paper and key": call.post("/questions/paper", data=made).text,
        "ideas": call.get("/questions/ideas").text,
        "models": call.get("/questions?topic=wander").text,
        "flights": call.get("/flights").text,
    }
    call.post("/lessons/quiz/save", data={"text": QUIZ})
    seen["lesson"] = call.get("/lessons/quiz").text
    call.post("/teach", files={"new_group": (None, "Spring"), "lesson": (None, "quiz")})
    lesson = next(one for one in school.sittings.listing() if one.kind == "lesson" and not one.closed_utc)
    student = school.people.add_student(lesson.group, "Nobody")
    school.sittings.add_place(lesson.id, student.id)
    school.sittings.move(lesson.id, step=0, phase="open")
    for asked in lesson.asked:
        item = asked.item
        held = [
            k for k, one in enumerate(item.options or item.slips) if "same-wander-everywhere" in one.ideas
        ]
        answer = Answer(lesson.id, student.id, asked.key, *(held or [0]), sent=asked.key)
        if not item.options:
            answer = structs.replace(answer, chosen=-1, value=item.slips[answer.chosen].value)
        school.answers.record(answer)
    school.sittings.move(lesson.id, step=0, phase="shown")
    seen["instructor"] = call.get(f"/teach/{lesson.id}/state").text
    seen["projector"] = call.get(f"/teach/{lesson.id}/projector/state").text
    snapshot = Snapshot(school, lesson.id)
    token = SPOKEN.set(call.app.state.shared.shelves.speech)
    seen["phone"] = msgspec.json.encode(
        [told_of(one, answer, stands_order) for one, answer, stands_order in alone(snapshot, student.id)]
    ).decode()
    SPOKEN.reset(token)
    seen["results"] = call.get(f"/results/student/{student.id}").text
    school.sittings.move(lesson.id, closed=True, code="")
    return seen


def alone(snapshot: Snapshot, student: str) -> list[Any]:
    """A student's questions with their answers, in the order in which they stand."""
    given = {one.key: one for one in snapshot.answers if one.student == student}
    return [(one, given.get(one.key), snapshot.stands.order_of(one)) for one in snapshot.sitting.asked]


def test_own_words_reach_papers_keys_phones_lessons_and_results(
    call: Caller, school: School, folder: Path
) -> None:
    before = said_everywhere(call, school)
    assert "Scheindrift" not in str(before)
    (folder / "words").mkdir()
    (folder / "words" / "deutsch.toml").write_text(SPOKEN_WORDS)
    after = said_everywhere(call, school)
    for place in ("paper and key", "ideas", "models", "lesson", "phone"):
        assert "Scheindrift" in after[place], place
    for place in ("paper and key", "lesson", "instructor", "phone"):
        assert "Kursanzeiger" in after[place] or "Kreisel" in after[place], place
    said = after["instructor"] + after["phone"]
    assert not re.findall("(?i)apparent wander|heading indicator|gyro(?![a-z])", said)
    for place in ("ideas", "flights", "results"):
        assert "Die Erde steht" not in before[place], place
        assert "Die Erde steht" in after[place], place


def test_tours_and_captions_of_the_program_call_a_part_as_the_school_does() -> None:
    words = words_from_text("w.toml", '[parts]\ncard = "Skala"\nrotor = "Kreisel"\njets = "Düsen"\n')
    token = SPOKEN.set(lambda: words.speech)
    try:
        viewer: Any = type("V", (), {"drives": True})
        told = {one["id"]: one for one in Room("main")._hello(viewer, Playing())["scenes"]}
        steps = told["how_it_works"]["steps"]
        links = [piece for step in steps for piece in (*step["say"], *step["try"]) if piece["part"]]
        for part, name in words.parts.items():
            said = [piece["text"] for piece in links if piece["part"] == part]
            assert said, part
            assert all(name in text for text in said), said
        assert not re.findall(r"(?i)\bcard\b", str([piece["text"] for s in steps for piece in s["say"]]))
        assert spoken_of_parts("The card drifts.") == "The Skala drifts."
        assert spoken("The card drifts.") == "The card drifts."
    finally:
        SPOKEN.reset(token)


def test_the_bench_and_sentences_speak_the_schools_words() -> None:
    words = words_from_text("w.toml", SPOKEN_WORDS)
    token = SPOKEN.set(lambda: words.speech)
    try:
        assert statement_of("same-wander-everywhere") == "Die Erde steht."
        assert "“Die Erde steht”" in quoted(["same-wander-everywhere"])
        said = spoken("Apparent wander, and apparent wander-like.")
        assert said == "Scheindrift, and apparent wander-like."
        viewer: Any = type("V", (), {"drives": True})
        told = Room("main")._hello(viewer, Playing())
        assert {one["id"]: one["statement"] for one in told["ideas"]}[
            "same-wander-everywhere"
        ] == "Die Erde steht."
        assert "Scheindrift" in str(told["scenes"])
        assert "apparent wander" not in str(told["scenes"]).lower()
    finally:
        SPOKEN.reset(token)
