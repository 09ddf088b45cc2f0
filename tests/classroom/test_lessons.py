"""Lesson files: what is read, what is complained of and where, and HTML that is safe to show."""

import re
from pathlib import Path

import pytest

from lubberline.classroom.lessons.file import KINDS, STEP_KEYS, lesson_from_text, lessons_of, read_lesson
from lubberline.classroom.lessons.lesson import words_of_key
from lubberline.classroom.lessons.text import lesson_html
from lubberline.errors import InputError
from lubberline.simulation.live.parts import PARTS

ROOT = Path(__file__).parents[2]
LESSON = """# A small lesson

minutes: 12
aim: Say why it drifts.

## Say: Welcome
minutes: 2
short: It drifts by {{ shown.error_deg @ fifteen_minutes_45n 900, size 1 }} degrees.

Good **morning**.

> Smile.

## Predict: The dial
answer: dial
scene: fifteen_minutes_45n
at: 900
asks: shown.indicated_deg
ideas: no-earth-wander, same-wander-everywhere
topic: wander
because: The Earth turns.

What will it read?

## Reveal: We look

## Predict: The options
answer: options
scene: fifteen_minutes_45s
at: 900
asks: shown.error_deg
topic: wander

What now?

- [x] Higher
  between: 0.5 and 10
  South of the equator it rises.
- [ ] Lower
  between: -10 and -0.5
  idea: falls-in-both-hemispheres

## Quiz: Two
topics: wander
count: 2
"""


def complaint(text: str) -> InputError:
    with pytest.raises(InputError) as found:
        lesson_from_text("small.md", text)
    return found.value


def line_of(text: str, part: str) -> int:
    return next(at for at, line in enumerate(text.splitlines(), 1) if part in line)


def test_a_lesson_is_read() -> None:
    lesson = lesson_from_text("small.md", LESSON)
    assert (lesson.id, lesson.title, lesson.minutes, lesson.aim) == (
        "small",
        "A small lesson",
        12.0,
        "Say why it drifts.",
    )
    assert [step.kind for step in lesson.steps] == ["say", "predict", "reveal", "predict", "quiz"]
    say, dial, reveal, options, quiz = lesson.steps
    assert say.text == "Good **morning**."
    assert say.notes == "Smile."
    assert say.minutes == 2.0
    assert say.line == line_of(LESSON, "## Say: Welcome")
    assert dial.question is not None
    assert dial.question.tolerance == 1.0
    assert [belief.idea for belief in dial.question.beliefs] == ["no-earth-wander", "same-wander-everywhere"]
    assert reveal.reveals == 1
    assert reveal.ghosts == ("commonest",)
    assert reveal.show is not None
    assert (reveal.show.scene, reveal.show.to_s) == ("fifteen_minutes_45n", 900.0)
    assert options.question is not None
    assert [one.right for one in options.question.choices] == [True, False]
    assert quiz.quiz is not None
    assert quiz.quiz.count == 2


def test_lines_end_as_on_any_system() -> None:
    plain = lesson_from_text("small.md", LESSON)
    for ending in ("\r\n", "\r"):
        assert lesson_from_text("small.md", LESSON.replace("\n", ending)).steps == plain.steps
    assert lesson_from_text("small.md", "\ufeff" + LESSON).steps == plain.steps


def test_a_reveal_goes_on_where_its_prediction_stood() -> None:
    text = LESSON.replace(
        "at: 900\nasks: shown.indicated_deg", "at: 900\nstands at: 100\nasks: shown.indicated_deg"
    )
    reveal = lesson_from_text("small.md", text).steps[2]
    assert reveal.show is not None
    assert reveal.show.from_s == 100.0


# What is changed in the lesson, into what, the line complained of, and what is said.
WRONG = [
    ("# A small lesson", "A small lesson", "A small", "start with the title"),
    ("minutes: 12", "minutes: twelve", "minutes: twelve", "a number from 1 to 600"),
    ("aim: Say why it drifts.", "goal: x", "goal: x", "unknown key 'goal'"),
    ("## Say: Welcome", "## Sing: Welcome", "## Sing", "there is no kind of step 'Sing'"),
    ("## Say: Welcome", "## Welcome", "## Welcome", "does not name a kind of step"),
    ("## Say: Welcome", "## Say:", "## Say:", "has no title"),
    ("minutes: 2\n", "minuts: 2\n", "minuts", "did you mean 'minutes'?"),
    ("minutes: 2\n", "minutes: 2\nminutes: 3\n", "minutes: 3", "is already in line"),
    ("Good **morning**.", "Good {{ morning }}.", "Good {{", "not a number to insert"),
    ("Good **morning**.", "Good {{ x @ rigidity 1", "Good {{", "not closed"),
    ("45n 900, size 1", "45n 9000, size 1", "short:", "seconds from 0 to 900"),
    ("45n 900, size 1", "45x 900, size 1", "short:", "there is no scene 'fifteen_minutes_45x'"),
    ("answer: dial", "answer: knob", "answer: knob", "there is no answer 'knob'"),
    ("scene: fifteen_minutes_45n\n", "scene: fifteen\n", "scene: fifteen", "there is no scene 'fifteen'"),
    ("scene: fifteen_minutes_45n\n", "bench: 1_latx\n", "bench: 1_latx", "not a part of a state's address"),
    ("scene: fifteen_minutes_45n\n", "", "## Predict: The dial", "neither a scene nor a bench"),
    ("at: 900\nasks: shown.indicated_deg", "at: 901\nasks: shown.indicated_deg", "at: 901", "from 0 to 900"),
    ("asks: shown.indicated_deg", "asks: Shown!", "asks: Shown!", "the path of a number"),
    ("asks: shown.indicated_deg", "asks: truth.heading_deg", "ideas:", "a ghost does not have"),
    ("no-earth-wander,", "no-earth-wonder,", "ideas:", "did you mean 'no-earth-wander'?"),
    ("no-earth-wander,", "gyro-stops-with-the-pump,", "ideas:", "cannot be flown"),
    ("topic: wander\nbecause", "topic: wonder\nbecause", "topic: wonder", "did you mean 'wander'?"),
    ("because: The Earth turns.\n", "", "## Predict: The dial", "'because' is missing"),
    ("What will it read?\n", "", "## Predict: The dial", "has no question"),
    (
        "## Predict: The dial",
        "## Reveal: Early\n\n## Predict: The dial",
        "## Reveal: Early",
        "no prediction before it",
    ),
    ("## Reveal: We look", "## Reveal: We look\nto: 10", "to: 10", "include that moment"),
    ("- [ ] Lower", "- [x] Lower", "- [x] Lower", "2 options are marked as the key"),
    (
        "  between: 0.5 and 10\n",
        "  between: 0.5 and 10\n  idea: no-earth-wander\n",
        "- [x] Higher",
        "the key has",
    ),
    (
        "idea: falls-in-both-hemispheres\n",
        "Low.\n- [x] More\n  between: 10 and 20\n  So.\n",
        "- [x] More",
        "2 options are",
    ),
    ("- [x] Higher", "- [?] Higher", "- [?] Higher", "the box holds '?'"),
    ("- [x] Higher", "- [x] Lower", "- [ ] Lower", "the option is the same as in line"),
    ("  between: 0.5 and 10\n", "", "- [x] Higher", "range of numbers is missing"),
    ("between: 0.5 and 10", "between: 10 and 0.5", "between: 10", "the lower first"),
    ("idea: falls-in-both-hemispheres", "idea: falls", "idea: falls", "there is no wrong idea 'falls'"),
    ("count: 2", "count: 200", "count: 200", "a number from 1 to 20"),
    ("topics: wander", "topics: weather", "topics: weather", "unknown name 'weather'"),
    ("topics: wander\n", "models: x\n", "models: x", "unknown name 'x'"),
]


@pytest.mark.parametrize(("old", "new", "line", "says"), WRONG)
def test_a_complaint_names_the_line_and_what_is_right(old: str, new: str, line: str, says: str) -> None:
    assert LESSON.count(old) >= 1
    text = LESSON.replace(old, new, 1)
    found = complaint(text)
    assert found.where == f"small.md, line {line_of(text, line)}"
    assert says in str(found)
    assert found.right


@pytest.mark.parametrize(
    "text", ["", "\n\n", "# Alone\n\nminutes: 3\naim: x\n", "\x00", "# T\n\n" + "x" * 3000, "## Say: x"]
)
def test_what_is_no_lesson_is_refused_with_its_line(text: str) -> None:
    assert complaint(text).where.startswith("small.md, line ")


def test_a_huge_text_is_refused() -> None:
    assert "at most 200 kB" in str(complaint("# T\n" + "word " * 50_000))


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    (tmp_path / "x.md").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="UTF-8"):
        read_lesson(tmp_path / "x.md")
    with pytest.raises(InputError, match="no such folder"):
        lessons_of(tmp_path / "nowhere")


@pytest.mark.parametrize(
    ("text", "absent"),
    [
        ("<script>alert(1)</script>", "<script"),
        ('<img src=x onerror="alert(1)">', "<img"),
        ("[a](javascript:alert(1))", "href"),
        ("[a](JaVaScRiPt&colon;alert(1))", "href"),
        ("[a](data:text/html,x)", "href"),
        ("[a](//elsewhere.example/x)", "href"),
        ("![a](https://elsewhere.example/x.png)", "<img"),
        ("<https://ok.example> &lt;script&gt;", "<script"),
        ("`</code><script>`", "<script"),
    ],
)
def test_html_in_a_lesson_is_shown_as_text(text: str, absent: str) -> None:
    assert absent not in lesson_html(text).lower()


def test_markdown_is_html_with_headings_below_the_pages() -> None:
    html = lesson_html("# One\n\n**two** [three](https://three.example)\n\n- four")
    assert "<h3>One</h3>" in html
    assert "<strong>two</strong>" in html
    assert '<a href="https://three.example">three</a>' in html
    assert "<li>four</li>" in html


def test_a_part_is_pressed_on_the_projector_and_plain_words_elsewhere() -> None:
    text = "See **[the inner gimbal](part:inner-gimbal)** [there](https://three.example)."
    button = '<button type="button" class="cl-part" data-part="inner-gimbal">the inner gimbal</button>'
    assert f"<strong>{button}</strong> <a" in lesson_html(text, pressed=True)
    assert "See <strong>the inner gimbal</strong> <a" in lesson_html(text)
    assert "button" not in lesson_html("[a](part:nothing)", pressed=True)


@pytest.mark.parametrize(
    "place", ["short: The [a](part:inner-gimbl).\n\nText.", "\nThe [a](part:inner-gimbl)."]
)
def test_an_unknown_part_is_refused_with_its_line_and_the_nearest_name(place: str) -> None:
    text = f"# T\n\nminutes: 5\naim: A.\n\n## Explain: E\n{place}\n"
    line = 1 + text[: text.index("part:")].count("\n")
    with pytest.raises(InputError, match=f"line {line}.*there is no part 'inner-gimbl'.*inner-gimbal"):
        lesson_from_text("x.md", text)


def test_the_manual_lists_the_parts() -> None:
    manual = (ROOT / "docs" / "instructors" / "lessons.md").read_text(encoding="utf-8")
    listed = manual[manual.index("The parts are ") : manual.index("An unknown one is refused")]
    assert set(re.findall(r"`([a-z-]+)`", listed)) == set(PARTS)


def test_the_demo_lessons_name_parts_and_call_them_by_one_name() -> None:
    for path in sorted((ROOT / "demo" / "lessons").glob("*.md")):
        text = path.read_text(encoding="utf-8")
        assert text.count("](part:") >= 5, path
        assert "the housing" not in text.replace("also called the housing", ""), path


def test_the_manual_names_every_kind_of_step_and_every_key() -> None:
    manual = (ROOT / "docs" / "instructors" / "lessons.md").read_text(encoding="utf-8")
    for kind in KINDS:
        assert f"`## {kind.capitalize()}: " in manual
    for keys in STEP_KEYS.values():
        for key in keys:
            assert f"`{key}:`" in manual, key


@pytest.mark.parametrize(
    ("key", "words"), [("step-9-2", "step 9, question 2"), ("step-4", "step 4"), ("A7", "A7")]
)
def test_a_key_in_words(key, words):
    assert words_of_key(key) == words
