"""A file with several faults is refused once, with a line for each of them."""

from collections.abc import Callable

import pytest

from lubberline.classroom.lessons.file import lesson_from_text
from lubberline.errors import FileError, InputError
from lubberline.questions.blueprint import blueprint_from_text
from lubberline.questions.handwritten import items_from_text
from lubberline.simulation.aircraft import aircraft_from_text
from lubberline.simulation.scenes import scene_from_text

BLUEPRINT = """title = ""
forms = ["A", "A"]
total = 9
retired = ["nonsense"]
[[topic]]
name = "wandr"
apply = 1
[[topic]]
name = "compass"
"""
TYPES = """title = 3
forms = "A"
foo = 1
total = "9"
[[topic]]
name = "wander"
apply = 500
"""
ITEM = """# {title}

topic: {topic}
level: {level}

{stem}

- [{mark}] a
  Y.
- [ ] b
  N.

"""
ITEMS = "".join(
    ITEM.format(**{"title": "T", "topic": "wander", "level": "recall", "stem": "So?", "mark": "x", **wrong})
    for wrong in (
        {"topic": "wandr"},
        {"title": "U", "level": "recal"},
        {"title": "V", "stem": ""},
        {"title": "W", "mark": " "},
        {"title": "?"},
    )
)
LESSON = """# Title
id: Bad Id
minutes: 900

## Say: One

## Shaw: Two

## Show: Three
scene: nonsense
"""
AIRCRAFT = """name = 3
foo = 1
[heading_indicator]
real_wander_deg_15min = "x"
bar = 2
[suction]
foo = 1
"""
SCENE = """id = "a"
foo = 1
[[event]]
at_s = "x"
[[claim]]
at_s = -1
[[event]]
at_s = 3
order = "nonsense"
[camera]
foo = 1
"""


@pytest.mark.parametrize(
    ("read", "text", "count"),
    [
        (blueprint_from_text, BLUEPRINT, 6),
        (blueprint_from_text, TYPES, 5),
        (items_from_text, ITEMS, 5),
        (lesson_from_text, LESSON, 6),
        (aircraft_from_text, AIRCRAFT, 5),
        (scene_from_text, SCENE, 5),
    ],
    ids=["blueprint", "types", "items", "lesson", "aircraft", "scene"],
)
def test_all_faults_are_said_at_once(read: Callable[[str, str], object], text: str, count: int) -> None:
    with pytest.raises(FileError) as caught:
        read("f", text)
    lines = str(caught.value).splitlines()
    assert len(lines) >= count, lines
    assert all(line.startswith("f") for line in lines), lines
    assert len(set(lines)) == len(lines)


def test_so_many_faults_that_nobody_would_read_them_are_counted() -> None:
    some = FileError([InputError(f"a file, line {line}", "x" * 90, "y") for line in range(1, 101)])
    *told, last = str(some).splitlines()
    assert len(str(some)) < 4_100
    assert last == f"and {100 - len(told)} more"
    assert len(some.all) == 100
