"""A bench in real time: the steps for the time that has passed, and the frame to show."""

import math
from collections.abc import Callable
from typing import Any

from lubberline.errors import InputError
from lubberline.flight.motion import STEP_S
from lubberline.instruments.heading_indicator.gyro import AVERAGED
from lubberline.simulation.bench import EMPTY_BENCH, Bench
from lubberline.simulation.fitted import Frame
from lubberline.simulation.kept import kept_toml
from lubberline.simulation.live import orders
from lubberline.simulation.live.address import scene_at
from lubberline.simulation.live.scene import Scene
from lubberline.simulation.live.view import between
from lubberline.simulation.scenes import Library, begun, library

# Up to this many steps per frame are flown directly; more are flown in a thread.
FEW_STEPS = 10
# The engine's work per frame stays below this; a pace that needs more is not reached.
WORK_S = 0.06
# Up to this many steps a frame, frames are drawn between steps.
DRAWN_BETWEEN = 1.0
FRAME_S = 1.0 / 30.0


class Playing:
    """A bench with its pace.

    Args:
        bench: to begin with.
        scenes: those that can be opened.

    Attributes:
        scenes: those that can be opened.
        bench: the bench.
        pace: bench seconds per second.
        paused: time stands still.
        scene_id: of its scene; none for a free bench.
        step: of the tour, from 1; none for a scene that is no tour.
        until_step: at which a run stops; none without one.
    """

    def __init__(self, bench: Bench | None = None, scenes: Callable[[], Library] = library) -> None:
        self.scenes = scenes
        self.pace = 1.0
        self.paused = False
        self.scene_id: str | None = None
        self.step: int | None = None
        self._open(bench or Bench(), None)

    def _open(self, bench: Bench, scene_id: str | None) -> None:
        self.bench = bench
        self.scene_id = scene_id
        self.step = None
        self.until_step: int | None = None
        self.pace = 1.0
        self._paces: list[tuple[int, float]] = []
        self._owed = 1.0
        self._step_s = 1e-5
        self._turns = 0.0
        self._now: Frame | None = None
        self._before: Frame | None = None
        self._heed()

    def obey(self, order: orders.Order) -> str:
        """Carry out an order of the page in control.

        Returns:
            A notice for everybody; empty if the frame's events say it.

        Raises:
            InputError: when it cannot be done.
        """
        # No frame is interpolated across an order.
        self._now = self._before = None
        if isinstance(order, orders.Pace):
            self._go_at(order.factor)
            self.until_step = None
        elif isinstance(order, orders.Run):
            self._go_at(order.factor)
            self.until_step = self.bench.state.step + round(order.seconds / STEP_S)
            self._pause(False)
        elif isinstance(order, orders.Pause):
            self._pause(order.on)
        elif isinstance(order, orders.Step):
            self.paused, self.until_step = True, None
            self.bench.advance(round(order.seconds / STEP_S))
            self._heed()
        elif isinstance(order, orders.Rewind):
            self.bench.rewind(order.to_s)
            self._paces = [one for one in self._paces if one[0] <= self.bench.state.step]
            self.paused, self.until_step = True, None
        elif isinstance(order, orders.PlayScene):
            scenes = self.scenes()
            id, opens = order.id, order.step
            if "/" in id and id in scenes:
                id, _, number = id.partition("/")
                opens = int(number)
            self._open(self._fresh(scenes.opened(id, opens)), id)
            self.step = opens if scenes.with_drafts()[id].steps else None
            self.paused = order.paused
            # A step of a tour has its title on the page, and comes and goes quickly.
            return "" if self.step else f"scene: {self.bench.scene.entry.title}"
        elif isinstance(order, orders.OpenState):
            self._open(self._fresh(scene_at(order.text)), None)
            return "the bench starts from a saved state"
        elif isinstance(order, orders.Reset):
            step = self.step
            self._open(self._fresh(self.bench.scene), self.scene_id)
            self.step = step
            return "the bench was reset"
        elif isinstance(order, orders.Take):
            raise InputError("take", "it cannot be given here", "send it over the bench's socket")
        else:
            self.bench.give(order)
        return ""

    def _go_at(self, pace: float) -> None:
        if pace != self.pace:
            self._paces.append((self.bench.state.step, pace))
        self.pace = pace

    def kept(self, id: str, title: str, camera: dict[str, Any] | None = None) -> str:
        """What has been flown, as the text of a scene file; see `kept.kept_toml`."""
        return kept_toml(self.bench, id, title, self._paces, camera)

    def _pause(self, on: bool) -> None:
        if self.paused and not on:
            self._owed = 1.0
        self.paused = on

    def _fresh(self, scene: Scene) -> Bench:
        return begun(scene, happened=self.bench.happened)

    def _heed(self) -> None:
        for wish in self.bench.wishes:
            if isinstance(wish, orders.Pace):
                self.pace = wish.factor
            else:
                self.paused = wish.on
        self.bench.wishes.clear()

    def steps_due(self, passed_s: float) -> int:
        """Steps to fly for the time that has passed; counts them as flown."""
        if self.paused:
            return 0
        self._owed += self.pace * passed_s / STEP_S
        due = math.floor(self._owed)
        self._owed -= due
        left = due if self.until_step is None else self.until_step - self.bench.state.step
        return min(due, left, max(math.floor(WORK_S / self._step_s), 1))

    def is_light(self, steps: int) -> bool:
        """Whether that many steps are fast enough to fly directly."""
        return (
            steps <= FEW_STEPS
            and self.bench.state.carried[0].truth.held["heading_indicator"].state.regime == AVERAGED
        )

    def fly(self, steps: int, clock: Any) -> None:
        """Fly steps and measure the time of one; `clock` returns seconds."""
        before = self._frame_now() if steps == 1 and self._is_slow else None
        started = clock()
        turns = self.bench.state.carried[0].shared["suction"].turns
        self.bench.advance(steps, heed_wishes=True)
        self._step_s += 0.2 * ((clock() - started) / steps - self._step_s)
        self._turns += (self.bench.state.carried[0].shared["suction"].turns - turns) / max(self.pace, 1.0)
        self._heed()
        if self.until_step is not None and self.bench.state.step >= self.until_step:
            self._go_at(1.0)
            self.paused, self.until_step = True, None
        self._before, self._now = before, None

    def frame(self) -> Frame:
        """The frame to show: between the last two steps at a slow pace, else the last."""
        now = self._frame_now()
        if self._before is None or self.paused or not self._is_slow:
            return now
        shown: Frame = between(self._before, now, self._owed)
        return shown

    @property
    def _is_slow(self) -> bool:
        return self.pace * FRAME_S / STEP_S < DRAWN_BETWEEN

    def _frame_now(self) -> Frame:
        if self._now is None:
            self._now = self.bench.frame()
            self._now["gyro"]["rotor_turns"] = round(self._turns % 1.0, 4)
        return self._now


def ready_playing(
    scenes: Callable[[], Library] = library, begins: Callable[[], Scene] = lambda: EMPTY_BENCH
) -> Playing:
    """A bench at its start, once everything it needs is compiled."""
    trial = Bench()
    trial.advance(1)
    trial.frame()
    return Playing(Bench(begins()), scenes)
