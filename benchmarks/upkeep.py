"""The cost of judging logs, and the estimate of wander compared with a general-purpose Bayesian sampler.

    python -m benchmarks.upkeep

A fleet of 50 aircraft with 2,000 checks each is judged on all cores. One aircraft of 30 checks is estimated
by the filter and by emcee's ensemble sampler, which samples the wander and every setting's error under the
same densities; both get the same scatter, and no growth.
"""

import argparse
import math
import os
import time
from concurrent.futures import ThreadPoolExecutor
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from benchmarks.machine import heading, load, table
from lubberline.simulation.aircraft import Aircraft, SuctionEntry
from lubberline.upkeep.estimating import FAULTY_SD_DEG_15MIN, FAULTY_SHARE, HEALTHY_SD_DEG_15MIN, estimate_of
from lubberline.upkeep.filtering import Noise, grid
from lubberline.upkeep.judge import judge
from lubberline.upkeep.records import Check, Log

Floats = NDArray[np.float64]

FLEET, CHECKS, YEARS = 50, 2000, 5.0
GOAL_S = 10.0
START_S = 1_600_000_000.0
WALKERS, STEPS = 96, 10_000


class Drawn(NamedTuple):
    """A log with what is left of its checks as drawn; the estimator's own model, for cost and comparison."""

    log: Log
    left: Floats


def drawn(seed: int, checks: int, years: float = YEARS, wrong: float = 0.03) -> Drawn:
    """Settings of one to three checks each, spread over the years."""
    rng = np.random.default_rng(seed)
    wander = float(rng.normal())
    day_s = years * 365.25 * 86400.0 / checks
    found: list[Check] = []
    left: list[float] = []
    at_s = START_S
    while len(found) < checks:
        own = rng.normal(0.0, 1.6)
        at_s += 2.0 * day_s
        minutes = np.sort(rng.uniform(8.0, 50.0, int(rng.integers(1, 4))))
        for one in minutes[: checks - len(found)]:
            gone = own + wander * one / 15.0 + rng.normal(0.0, 1.6)
            gone += rng.uniform(-180.0, 180.0) if rng.random() < wrong else 0.0
            left.append(gone)
            found.append(_check(len(found) + 2, at_s, at_s + one * 60.0, gone, rng))
    return Drawn(Log(f"drawn {seed}", tuple(found), (), ()), np.array(left))


def _check(row: int, set_s: float, time_s: float, gone_deg: float, rng: np.random.Generator) -> Check:
    compass = float(rng.integers(0, 360))
    # At 47 north the Earth contributes.
    earth = -15.041067 * math.sin(math.radians(47.0)) * (time_s - set_s) / 3600.0
    return Check(
        row=row,
        time_s=time_s,
        latitude_deg=47.0,
        longitude_deg=9.0,
        indicated_deg=round(compass + gone_deg + earth) % 360.0,
        compass_deg=compass,
        set_s=set_s,
        set_compass_deg=compass,
        groundspeed_kt=float(rng.integers(80, 130)),
        track_deg=float(rng.integers(0, 360)),
        idle_inhg=3.2,
        cruise_inhg=5.0,
        run_down_min=11.0 if row % 8 == 0 else math.nan,
        typed={},
    )


def fleet_s(aircraft: int = FLEET, checks: int = CHECKS) -> tuple[float, float]:
    """Wall time and processor time for judging a fleet, every aircraft with its own regulator."""
    pairs = [
        (drawn(seed, checks).log, Aircraft(suction=SuctionEntry(regulator_inhg=4.5 + 0.01 * seed)))
        for seed in range(aircraft)
    ]
    begun, worked = time.perf_counter(), time.process_time()
    with ThreadPoolExecutor(os.cpu_count() or 1) as pool:
        list(pool.map(lambda pair: judge(*pair), pairs))
    return time.perf_counter() - begun, time.process_time() - worked


class Compared(NamedTuple):
    """Mean and standard deviation by the filter and by the sampler, the sampler's errors, and the times."""

    own_mean: float
    own_sd: float
    sampled_mean: float
    sampled_sd: float
    error_of_mean: float
    error_of_sd: float
    own_s: float
    sampler_s: float


def log_posterior(
    values: Floats, left: Floats, quarters: Floats, lot: NDArray[np.int64], noise: Noise
) -> Floats:
    """Of walkers (walkers, 1 + settings): the wander first, then each setting's error."""

    def normal(x: Floats, sd: Floats | float) -> Floats:
        found: Floats = np.exp(-0.5 * (x / sd) ** 2) / (sd * math.sqrt(2.0 * math.pi))
        return found

    wander, settings = values[:, :1], values[:, 1:]
    prior = (1.0 - FAULTY_SHARE) * normal(wander, HEALTHY_SD_DEG_15MIN) + FAULTY_SHARE * normal(
        wander, FAULTY_SD_DEG_15MIN
    )
    set_rightly = (1.0 - noise.wrong_setting) * normal(settings, noise.setting_deg)
    set_wrongly = noise.wrong_setting * normal(settings, noise.wrong_setting_deg)
    share = 15.0 * quarters / noise.random_min
    walk = (noise.random_deg_15min * noise.random_min / 15.0) ** 2 * 2.0 * (share - 1.0 + np.exp(-share))
    spread = np.sqrt(noise.reading_deg**2 + walk)
    apart = left - settings[:, lot] - wander * quarters
    seen = (1.0 - noise.wrong_check) * normal(apart, spread) + noise.wrong_check / 360.0
    found: Floats = (
        np.log(prior[:, 0]) + np.log(set_rightly + set_wrongly).sum(axis=1) + np.log(seen).sum(axis=1)
    )
    return found


def compared(seed: int = 7, checks: int = 30, steps: int = STEPS) -> Compared:
    """One aircraft by both."""
    import emcee

    log, left = drawn(seed, checks, years=1.0)
    noise = Noise()
    estimate_of(log, left, noise, exact=True)
    begun = time.perf_counter()
    own = estimate_of(log, left, noise, exact=True)
    own_s = time.perf_counter() - begun
    own_mean = float(own.posterior @ grid())
    own_sd = math.sqrt(float(own.posterior @ (grid() - own_mean) ** 2))
    quarters = np.array([check.minutes / 15.0 for check in log.checks])
    settings = sorted({check.set_s for check in log.checks})
    lot = np.array([settings.index(check.set_s) for check in log.checks])
    rng = np.random.default_rng(seed)
    sampler = emcee.EnsembleSampler(
        max(WALKERS, 2 * (len(settings) + 2)),
        1 + len(settings),
        log_posterior,
        args=(left, quarters, lot, noise),
        vectorize=True,
    )
    sampler.random_state = np.random.RandomState(seed).get_state()
    start = rng.normal(0.0, 0.5, (sampler.nwalkers, sampler.ndim))
    begun = time.perf_counter()
    sampler.run_mcmc(start, steps)
    sampler_s = time.perf_counter() - begun
    chain = sampler.get_chain(discard=steps // 4)[:, :, 0]
    together = float(emcee.autocorr.integrated_time(chain, quiet=True)[0])
    sd = float(chain.std())
    drawn_apart = max(chain.size / together, 1.0)
    errors = sd / math.sqrt(drawn_apart), sd / math.sqrt(2.0 * drawn_apart)
    return Compared(own_mean, own_sd, float(chain.mean()), sd, *errors, own_s, sampler_s)


def main() -> None:
    """Prints both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--aircraft", type=int, default=FLEET)
    parser.add_argument("--steps", type=int, default=STEPS)
    given = parser.parse_args()
    print(heading(("numpy", "numba", "emcee")))
    fleet_s(2, 40)
    wall_s, worked_s = fleet_s(given.aircraft)
    cells = (
        f"{given.aircraft}",
        f"{given.aircraft * CHECKS:,}",
        f"{wall_s:.1f}",
        f"{worked_s:.1f}",
        f"{GOAL_S:g}",
    )
    print(table(("aircraft", "checks", "wall time, s", "processor time, s", "goal, wall s"), [cells]))
    one = compared(steps=given.steps)
    rows = [
        ("filter", f"{one.own_mean:+.3f}", f"{one.own_sd:.3f}", f"{one.own_s:.4f}"),
        (
            "emcee",
            f"{one.sampled_mean:+.3f} ± {one.error_of_mean:.3f}",
            f"{one.sampled_sd:.3f} ± {one.error_of_sd:.3f}",
            f"{one.sampler_s:.1f}",
        ),
    ]
    print(table(("one aircraft, 30 checks", "mean", "standard deviation", "s"), rows))
    print(f"The sampler takes {one.sampler_s / one.own_s:,.0f} times as long.")
    print(load())


if __name__ == "__main__":
    main()
