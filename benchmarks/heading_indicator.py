"""The heading indicator's speed compared with SciPy, MuJoCo and C, all flying the same motion.

    python -m benchmarks.heading_indicator            three hours, the others over ten minutes of them
    python -m benchmarks.heading_indicator --whole    the others also fly all three hours once

Run from the repository's root on a quiet machine. Every program gets the same attitude, Earth, travel,
friction, erection and real wander, with the motion prepared beforehand; ours also keeps the ledger. Each
runs in one thread and is timed in processor time.
"""

import argparse
import statistics
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from benchmarks.machine import heading, load, median_s, table
from benchmarks.motion import PLACE, training_flight
from benchmarks.twin_kernel import FLAGS, build, compiler, fly_twin, numbers
from lubberline.flight.motion import STEP_S
from lubberline.instruments.heading_indicator.card import HEADING_ROW, fly_heading
from lubberline.instruments.heading_indicator.gyro import GyroLaws, GyroState
from tests.instruments.heading_runs import (
    NO_ACTIONS,
    NO_ROWS,
    axis_in_gimbals,
    gyro_of,
    samples_of,
    steady_drive,
)
from tests.references.base_motion import BaseMotion, Floats
from tests.references.gyro_values import Values
from tests.references.rigid_body import drive_of, simulate_rigid_body
from tests.references.rigid_equations import rate_table, solve_equations

PHYSICS = GyroLaws()

HOURS = 3.0
STRETCH_S = 600.0
ROW_EVERY = 10
VALUES = Values(inner_torque_nm=4.2e-6)
AXIS_RAD = 0.3
HELD_DEG = 0.1
TRIAL_S = 30.0
# Limited by the nutation of 128 Hz at any tolerance; shown only for the trial.
EXPLICIT = {"RK45": (1e-3, 1e-5), "DOP853": (1e-3, 1e-5), "LSODA": (1e-3, 1e-5)}
# Able to step over the nutation; (BDF is not: it is unstable on the imaginary axis.)
IMPLICIT = {"Radau": (1e-2, 3e-3, 1e-3, 3e-4)}
ENGINES = {
    "RK4": (0.002, 1.0 / 300.0),
    "implicit": (0.004, 0.005, 0.01),
}


class Side(NamedTuple):
    """One side of the comparison: simulated seconds a second, and its greatest card error in degrees."""

    name: str
    speed: float
    error_deg: float


class Ours:
    """The engine's kernel and its C twin on the same arrays."""

    def __init__(self, base: BaseMotion, duration_s: float, folder: Path) -> None:
        self.duration_s = duration_s
        self.samples = samples_of(base, duration_s, **PLACE)
        count = len(self.samples)
        self.drive = steady_drive(count)
        self.wander = np.full(count, VALUES.inner_torque_nm)
        self.variation = np.zeros(count)
        self.rows = np.zeros((count - 1) // ROW_EVERY + 1, dtype=HEADING_ROW)
        self.twin_rows = self.rows.copy()
        self.gyro = gyro_of(VALUES)
        self.start = axis_in_gimbals(self.samples, AXIS_RAD, 0.0)
        self.twin = build(folder)

    def fly(self) -> GyroState:
        return fly_heading(
            self.start,
            self.samples,
            self.drive,
            self.wander,
            self.variation,
            NO_ACTIONS,
            STEP_S,
            ROW_EVERY,
            self.gyro,
            PHYSICS,
            self.rows,
            NO_ROWS,
            NO_ROWS,
        )

    def fly_twin(self) -> GyroState:
        return fly_twin(
            self.twin,
            self.start,
            self.samples,
            self.drive,
            self.wander,
            self.variation,
            ROW_EVERY,
            self.gyro,
            PHYSICS,
            self.twin_rows,
        )

    def card_deg(self) -> Floats:
        """The card every second, unwrapped, as the references count it."""
        card: Floats = np.degrees(np.unwrap(self.rows["indicated_rad"]))
        return card - 360.0 * np.round((card[0] + np.degrees(AXIS_RAD)) / 360.0)

    def twin_difference(self) -> float:
        """Greatest difference of any value of any row, and of the last state."""
        rows = max(
            float(np.max(np.abs(self.rows[name] - self.twin_rows[name]))) for name in HEADING_ROW.names or ()
        )
        states = np.subtract(numbers(self.fly()), numbers(self.fly_twin()))
        return max(rows, float(np.max(np.abs(states))))

    def timed(self, times: int) -> tuple[float, float]:
        """Median seconds of the engine and of the twin, run in turns."""
        ours, twins = [], []
        for _ in range(times):
            ours.append(median_s(self.fly, 1))
            twins.append(median_s(self.fly_twin, 1))
        return statistics.median(ours), statistics.median(twins)


def greatest_error_deg(card_deg: Floats, reference_deg: Floats) -> float:
    """Infinite for a solution that broke down."""
    if card_deg.shape != reference_deg.shape or not np.all(np.isfinite(card_deg)):
        return np.inf
    return float(np.max(np.abs(card_deg - reference_deg)))


def solver(base: BaseMotion, duration_s: float, method: str, rtol: float) -> Callable[[], Floats]:
    prepared = rate_table(base, duration_s)
    return lambda: (
        solve_equations(
            base,
            duration_s,
            values=VALUES,
            a_rad=AXIS_RAD,
            every_s=1.0,
            method=method,
            rtol=rtol,
            atol=rtol * 1e-2,
            table=prepared,
        ).card_deg
    )


def engine(base: BaseMotion, duration_s: float, integrator: str, step_s: float) -> Callable[[], Floats]:
    prepared = drive_of(base, duration_s, step_s)
    return lambda: (
        simulate_rigid_body(
            base,
            duration_s,
            values=VALUES,
            a_rad=AXIS_RAD,
            every_s=1.0,
            step_s=step_s,
            integrator=integrator,
            drive=prepared,
        ).card_deg
    )


def measured(
    name: str, run: Callable[[], Floats], reference_deg: Floats, duration_s: float, times: int
) -> Side:
    kept: list[NDArray[np.float64]] = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            taken_s = median_s(lambda: kept.append(run()), times)
        except RuntimeError:
            return Side(name, 0.0, np.inf)
    error = greatest_error_deg(kept[-1], reference_deg)
    side = Side(name, duration_s / taken_s, error)
    print(f"  {name}: {side.speed:,.0f} simulated s/s, {error:.2g} deg", flush=True)
    return side


def scipy_sides(
    base: BaseMotion, solvers: dict[str, tuple[float, ...]], duration_s: float, times: int
) -> list[Side]:
    """Each solver at each tolerance over a piece of the flight."""
    reference = solver(base, duration_s, "Radau", 1e-6)()
    return [
        measured(
            f"SciPy {method}, rtol {rtol:g}",
            solver(base, duration_s, method, rtol),
            reference,
            duration_s,
            times,
        )
        for method, tolerances in solvers.items()
        for rtol in tolerances
    ]


def mujoco_sides(base: BaseMotion, reference_deg: Floats, times: int) -> list[Side]:
    """MuJoCo by integrator and step over the stretch."""
    return [
        measured(
            f"MuJoCo {integrator}, {1e3 * step_s:.1f} ms",
            engine(base, STRETCH_S, integrator, step_s),
            reference_deg,
            STRETCH_S,
            times,
        )
        for integrator, steps in ENGINES.items()
        for step_s in steps
    ]


def fastest(sides: list[Side]) -> Side:
    """The fastest program that stays within 0.1 deg."""
    return max((side for side in sides if side.error_deg < HELD_DEG), key=lambda side: side.speed)


def whole_flight(base: BaseMotion, ours: Ours, method: str) -> None:
    """Differences over the whole flight: ours against SciPy and MuJoCo."""
    name, rtol = method.removeprefix("SciPy ").split(", rtol ")
    card = ours.card_deg()
    for label, run in (
        (method, solver(base, ours.duration_s, name, float(rtol))),
        ("MuJoCo RK4, 2.0 ms", engine(base, ours.duration_s, "RK4", 0.002)),
    ):
        start = time.process_time()
        error = greatest_error_deg(run(), card)
        taken = time.process_time() - start
        print(
            f"Whole flight, {label}: {error:.3f} deg from ours, {ours.duration_s / taken:,.0f} simulated s/s"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--whole", action="store_true", help="the others fly all of it once, too")
    parser.add_argument("--repeats", type=int, default=3)
    given = parser.parse_args()

    duration_s = HOURS * 3600.0
    base = training_flight(duration_s)
    with tempfile.TemporaryDirectory() as folder:
        ours = Ours(base, duration_s, Path(folder))
    ours.fly()
    ours.fly_twin()
    difference = ours.twin_difference()
    explicit = scipy_sides(base, EXPLICIT, TRIAL_S, 1)
    implicit = scipy_sides(base, IMPLICIT, STRETCH_S, given.repeats)
    reference = solver(base, STRETCH_S, "Radau", 1e-6)()
    mujoco = mujoco_sides(base, reference, given.repeats)
    ours_s, twin_s = ours.timed(2 * given.repeats + 1)
    own_error = greatest_error_deg(ours.card_deg()[: len(reference)], reference)
    speed = duration_s / ours_s
    best = fastest(implicit + explicit)

    print()
    print(heading(("numpy", "numba", "scipy", "mujoco")), f"C: {compiler()}, {FLAGS[0]}.")
    print(f"Load {load()} at the end. The twin differs from ours by at most {difference:.1e} in any value.")
    print(f"Fastest SciPy within {HELD_DEG} deg: {best.name}. Ratios, ours to the other:\n")
    rows = [
        ["ours, with the ledger, 3 h", f"{speed:,.0f}", f"{own_error:.3f}", "1"],
        ["C twin, 3 h", f"{duration_s / twin_s:,.0f}", f"{own_error:.3f}", f"{twin_s / ours_s:.2f}"],
    ]
    for sides, piece in ((implicit + mujoco, "10 min"), (explicit, "30 s")):
        rows += [
            [
                f"{side.name}, {piece}",
                f"{side.speed:,.0f}",
                f"{side.error_deg:.2g}",
                f"{speed / side.speed:,.0f}",
            ]
            for side in sides
        ]
    print(table(["program", "simulated s per second", "greatest error, deg", "ours is faster by"], rows))
    if given.whole:
        print()
        whole_flight(base, ours, best.name)


if __name__ == "__main__":
    main()
