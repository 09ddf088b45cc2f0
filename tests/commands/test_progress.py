"""What is shown while long work is under way: by a clock that the test moves."""

import io

import pytest

from lubberline.commands import terminal
from lubberline.commands.terminal import Output, Progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


class Clock:
    now_s = 100.0

    def __call__(self) -> float:
        return self.now_s


@pytest.fixture(autouse=True)
def _nothing_compiled(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(terminal, "compiling_s", lambda: None)


def ticked(progress: Progress, clock: Clock, seconds: float, every_s: float = 0.2) -> None:
    for _ in range(round(seconds / every_s)):
        clock.now_s += every_s
        progress.tick()


def test_short_work_shows_nothing() -> None:
    for stream in (io.StringIO(), Terminal()):
        clock = Clock()
        progress = Progress(Output(stream), "Flying", clock)
        ticked(progress, clock, 1.8)
        progress.end()
        ticked(progress, clock, 9.0)
        assert stream.getvalue() == ""


def test_elsewhere_than_on_a_terminal_there_is_a_line_now_and_then() -> None:
    stream, clock = io.StringIO(), Clock()
    progress = Progress(Output(stream), "Flying", clock)
    ticked(progress, clock, 5.0)
    show = progress.stage("Flying the ensemble")
    for done in range(1, 301):
        show(done, 300)
        ticked(progress, clock, 0.2)
    progress.end()
    lines = stream.getvalue().splitlines()
    assert lines[0] == "Flying: 2 s so far"
    # Sixty-five seconds, a line each ten.
    assert len(lines) == 7
    assert lines[1].startswith("Flying the ensemble: 3")
    assert "\r" not in stream.getvalue()


def test_on_a_terminal_there_is_a_bar_that_goes_before_a_line_and_at_the_end() -> None:
    stream, clock = Terminal(), Clock()
    progress = Progress(Output(stream), "Flying", clock)
    progress.stage("Flying the ensemble")(10, 40)
    ticked(progress, clock, 3.0)
    bar = "Flying the ensemble: [########......................] 10 of 40"
    assert stream.getvalue().split("\r")[-1].rstrip() == bar
    progress.clear()
    assert stream.getvalue().endswith("\r" + " " * len(bar) + "\r")
    progress.stage("Writing")
    ticked(progress, clock, 0.2)
    assert stream.getvalue().split("\r")[-1] == "Writing: 3 s so far"
    progress.end()
    assert stream.getvalue().endswith("\r")
    assert stream.getvalue().count("\n") == 0


def test_compiling_is_named_while_it_lasts_and_only_then(monkeypatch: pytest.MonkeyPatch) -> None:
    stream, clock = io.StringIO(), Clock()
    progress = Progress(Output(stream), "Flying", clock)
    monkeypatch.setattr(terminal, "compiling_s", lambda: 2.1)
    ticked(progress, clock, 2.5)
    monkeypatch.setattr(terminal, "compiling_s", lambda: None)
    ticked(progress, clock, 10.0)
    assert stream.getvalue().splitlines() == [
        "Compiling the engine (usually 10 to 30 s): 2 s so far",
        "Flying: 12 s so far",
    ]
