"""The clock of the records: nobody who sets the machine's clock lengthens or shortens a paper."""

from collections.abc import Callable

import msgspec
import pytest

from lubberline.classroom.records import Answer
from lubberline.store import server as records_server
from lubberline.store import times
from lubberline.store.school import School
from lubberline.store.times import Clock, now_utc
from lubberline.web.sittings.roll import left_s
from tests.store.made import Taught, taught

NOON_S = 1_780_000_000.0


class Machine:
    """A machine whose clock can be set, and that goes on meanwhile."""

    def __init__(self) -> None:
        self.wall_s = NOON_S
        self.since_start_s = 500.0

    def passes(self, seconds: float) -> None:
        self.wall_s += seconds
        self.since_start_s += seconds

    def clock(self) -> Clock:
        return Clock(lambda: self.wall_s, lambda: self.since_start_s)


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch) -> Machine:
    made = Machine()
    monkeypatch.setattr(times, "CLOCK", made.clock())
    # PostgreSQL's own clock is the pretend one, too.
    monkeypatch.setattr(records_server, "_wall_s", lambda _: made.wall_s)
    return made


def left_of(class_: Taught, school: School) -> float:
    place = school.sittings.places(class_.paper.id)[0]
    found = left_s(school.sittings.sitting(class_.paper.id), place)
    assert found is not None
    return found


@pytest.mark.parametrize("set_by_s", [-3600.0, 3600.0, -40 * 365 * 86400.0])
def test_setting_the_clock_moves_no_paper(
    machine: Machine, opened: Callable[[], School], set_by_s: float
) -> None:
    school = opened()
    class_ = taught(school)
    limit_s = class_.paper.minutes * 60.0
    machine.passes(600.0)
    machine.wall_s += set_by_s
    records_server.set_clock(school.transactions)
    assert left_of(class_, school) == pytest.approx(limit_s - 600.0, abs=1.0)
    machine.passes(limit_s - 600.0 + 11.0)
    student = class_.students[0]
    with pytest.raises(Exception, match="time is up"):
        school.answers.record(Answer(class_.paper.id, student.id, "A1", 1, sent="late"))


def test_a_server_that_comes_back_with_its_clock_set_back_gives_no_more_time(
    machine: Machine, opened: Callable[[], School], monkeypatch: pytest.MonkeyPatch
) -> None:
    school = opened()
    class_ = taught(school)
    machine.passes(600.0)
    school.answers.record(Answer(class_.paper.id, class_.students[0].id, "A1", 1, sent="first"))
    school.close()
    machine.wall_s -= 86400.0
    monkeypatch.setattr(times, "CLOCK", machine.clock())
    again = opened()
    assert left_of(class_, again) <= class_.paper.minutes * 60.0 - 600.0 + 1.0


def test_while_nobody_sits_a_timed_paper_the_clock_follows_the_machines(
    machine: Machine, opened: Callable[[], School], caplog: pytest.LogCaptureFixture
) -> None:
    """One that was a year ahead, or that had no battery, is right again without a restart."""
    school = opened()
    class_ = taught(school)
    for set_by_s in (365 * 86400.0, -365 * 86400.0):
        machine.wall_s += set_by_s
        before = now_utc()
        records_server.set_clock(school.transactions)
        assert now_utc() == before
        school.sittings.move(class_.paper.id, closed=True)
        records_server.set_clock(school.transactions)
        assert times.now().timestamp() == machine.wall_s
        assert "clock was changed" in caplog.text
        caplog.clear()
        school.sittings.move(class_.paper.id, closed=False)
        # Whose place began under the other clock begins anew for the next turn.
        school.sittings.move(class_.paper.id, closed=True)
        paper = msgspec.structs.replace(class_.paper, id=f"again{set_by_s:.0f}", code="")
        school.sittings.put(paper)
        school.sittings.add_place(paper.id, class_.students[0].id, "A")
        class_ = Taught(school, class_.students, class_.lesson, paper)


def test_two_servers_whose_clocks_differ_go_by_the_databases(
    opened: Callable[[], School], postgres: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from lubberline.store.school import open_school

    machine = Machine()
    machine.wall_s -= 3600.0
    monkeypatch.setattr(times, "CLOCK", machine.clock())
    school = open_school(postgres)
    real = Clock()
    assert times.now().timestamp() == pytest.approx(real.now_s(), abs=30.0)
    school.close()
