"""The answers of a class as drawn on the projector: every count is whole, beside its own answers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import pytest

from tests.web.class_server import ClassServer, begun
from tests.web.test_browser import until

if TYPE_CHECKING:
    from playwright.sync_api import Browser

pytestmark = pytest.mark.browser


# Every text of the answers' drawing: within it, and none over another.
MISPLACED = """() => {
    const drawing = document.querySelector('.cl-spreads svg');
    const area = drawing.getBoundingClientRect();
    const all = [...drawing.querySelectorAll('text:not(.numeral)')];
    const texts = all.map((one) => [one.textContent, one.getBoundingClientRect()]);
    const isIn = (box) => box.left > area.left - 1 && box.right < area.right + 1 && box.top > area.top - 1;
    const meet = (a, b) => a.left < b.right - 1 && b.left < a.right - 1
        && a.top + 4 < b.bottom - 4 && b.top + 4 < a.bottom - 4;
    const cut = texts.filter(([, box]) => !isIn(box));
    const over = texts.filter(([, a], k) => texts.some(([, b], other) => other > k && meet(a, b)));
    return [texts.map(([words]) => words), [...cut, ...over].map(([words]) => words)];
}"""


ANSWERS = [
    ("number", [-27.0, -16.0, -16.0, -14.6, -14.2, -13.7, -13.7, -13.7, -13.5, -13.1]),
    ("dial", [80.0, 90.0, 90.0, 91.0, 100.0, 110.0, 265.0, 270.0, 270.0, 290.0]),
    # Long words, where the drawing is narrowest for them.
    ("dial", [85.0] * 100 + [183.0, 270.0]),
]


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ClassServer]:
    started = ClassServer(f"sqlite:///{tmp_path_factory.mktemp('drawn') / 'school.sqlite3'}")
    yield started
    started.end()


@pytest.mark.parametrize(("how", "values"), ANSWERS)
def test_close_answers_say_whose_they_are_and_no_count_is_cut_off(
    browser: Browser, server: ClassServer, how: str, values: list[float]
) -> None:
    sitting = begun(server.school)
    server.school.sittings.move(sitting.id, step=1, phase="closed")
    screen = browser.new_page(viewport={"width": 1366, "height": 768})
    screen.add_init_script("delete window.WebSocket")
    total = len(values)

    def close(route: Any) -> None:
        view = route.fetch().json()
        (spread,) = view["spreads"]
        spread |= {"count": total, "values": values, "unit": "degrees"}
        spread["question"]["how"] = how
        route.fulfill(json=view)

    screen.route("**/projector/state*", close)
    screen.goto(f"{server.address}/teach/{sitting.id}/projector")
    until(screen, f"document.querySelector('.cl-spreads svg')?.textContent.includes('of {total}')")
    texts, misplaced = screen.evaluate(MISPLACED)
    assert misplaced == []
    counts = [words for words in texts if words.endswith(f" of {total}")]
    assert sum(int(words.split()[0]) for words in counts) == total
    if how == "number":
        # Under each count stands its value.
        assert [texts[texts.index(words) + 1] for words in counts][:2] == ["−27", "−16"]
    screen.close()
