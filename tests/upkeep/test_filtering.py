"""The filter over a grid of wanders beside SciPy's normal densities, closed forms and numpy's least squares.

A likelihood written out with `scipy.stats.multivariate_normal`, over every choice of wrong entries, is the
outside: it shares nothing with the kernels.
"""

import itertools
import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from lubberline.upkeep import filtering
from lubberline.upkeep.estimating import prior_of, quantile
from lubberline.upkeep.filtering import Noise

Floats = NDArray[np.float64]
WANDERS = filtering.grid()
CELL = filtering.widths(WANDERS)
PRIOR = prior_of(WANDERS)
CLEAN = Noise(wrong_check=1e-12, wrong_setting=1e-12, random_deg_15min=0.0)


def filtered(
    left: Floats,
    quarters: Floats,
    lots: list[int],
    noise: Noise = CLEAN,
    *,
    growth: float = 0.0,
    worked: tuple[int, ...] = (),
) -> tuple[Floats, float]:
    """The probabilities after each lot of so many checks, a day apart."""
    first = np.cumsum([0, *lots]).astype(np.int64)
    after = np.array([j in worked for j in range(len(lots))])
    kept = np.zeros((len(lots), len(WANDERS)))
    evidence = filtering.filter_log(
        left,
        quarters,
        first,
        np.arange(len(lots), dtype=float),
        after,
        PRIOR,
        WANDERS,
        CELL,
        growth,
        noise,
        kept,
    )
    return kept, evidence


def likelihood_of_lot(y: Floats, x: Floats, noise: Noise) -> Floats:
    """Of one lot at every wander, by every choice of wrong checks and a wrong setting."""
    share = 15.0 * x / noise.random_min
    walk = (noise.random_deg_15min * noise.random_min / 15.0) ** 2 * 2.0 * (share - 1.0 + np.exp(-share))
    total = np.zeros(len(WANDERS))
    for wrong in itertools.product((False, True), repeat=len(y)):
        good = [i for i, bad in enumerate(wrong) if not bad]
        weight = (
            noise.wrong_check ** sum(wrong) * (1.0 - noise.wrong_check) ** len(good) / 360.0 ** sum(wrong)
        )
        for bad_setting in (False, True):
            spread = noise.wrong_setting_deg if bad_setting else noise.setting_deg
            chance = noise.wrong_setting if bad_setting else 1.0 - noise.wrong_setting
            if not good:
                total += weight * chance
                continue
            covariance = np.diag(noise.reading_deg**2 + walk[good]) + spread**2
            apart = y[good][None, :] - WANDERS[:, None] * x[good][None, :]
            total += weight * chance * stats.multivariate_normal(cov=covariance).pdf(apart)
    return total


@pytest.mark.parametrize(
    ("y", "x"),
    [([1.5], [1.0]), ([2.0, 3.5], [0.8, 2.1]), ([2.0, -140.0], [0.8, 2.1]), ([60.0, 64.0], [1.0, 2.0])],
)
def test_one_lot_is_the_sum_over_all_that_may_be_wrong(y: list[float], x: list[float]) -> None:
    noise = Noise(random_deg_15min=0.8)
    left, quarters = np.array(y), np.array(x)
    kept, evidence = filtered(left, quarters, [len(y)], noise)
    expected = PRIOR * likelihood_of_lot(left, quarters, noise)
    assert math.exp(evidence) == pytest.approx(expected.sum(), rel=1e-9)
    assert np.abs(kept[0] - expected / expected.sum()).max() < 1e-9


def test_of_three_or_more_checks_two_may_be_wrong_and_the_rest_hardly_matters() -> None:
    noise = Noise()
    left, quarters = np.array([0.5, 1.0, 130.0, 2.0]), np.array([0.5, 1.0, 1.5, 2.0])
    kept, _ = filtered(left, quarters, [4], noise)
    expected = PRIOR * likelihood_of_lot(left, quarters, noise)
    assert np.abs(kept[0] - expected / expected.sum()).sum() < 2e-3


def test_many_lots_are_one_product() -> None:
    rng = np.random.default_rng(3)
    lots = [1, 2, 1, 2]
    left, quarters = rng.normal(0.0, 3.0, 6), rng.uniform(0.5, 3.0, 6)
    noise = Noise()
    kept, evidence = filtered(left, quarters, lots, noise)
    expected = PRIOR.copy()
    at = 0
    for lot in lots:
        expected *= likelihood_of_lot(left[at : at + lot], quarters[at : at + lot], noise)
        at += lot
    assert evidence == pytest.approx(math.log(expected.sum()), abs=1e-9)
    assert np.abs(kept[-1] - expected / expected.sum()).max() < 1e-9


def test_with_nothing_wrong_it_is_generalised_least_squares() -> None:
    """A line through the checks of settings that share their errors: numpy.linalg, prior taken out."""
    rng = np.random.default_rng(4)
    lots = [3] * 12
    quarters = rng.uniform(0.3, 3.0, 36)
    shared = np.repeat(rng.normal(0.0, 1.6, 12), 3)
    left = 2.0 * quarters + shared + rng.normal(0.0, 1.6, 36)
    covariance = np.diag(np.full(36, 1.6**2)) + np.kron(np.eye(12), np.full((3, 3), 1.6**2))
    weights = np.linalg.solve(covariance, quarters)
    variance = 1.0 / (quarters @ weights)
    mean = variance * (left @ weights)
    kept, _ = filtered(left, quarters, lots)
    mass = kept[-1] / PRIOR * CELL
    mass /= mass.sum()
    assert float(mass @ WANDERS) == pytest.approx(mean, abs=2e-3)
    assert float(mass @ (WANDERS - mean) ** 2) == pytest.approx(variance, rel=0.01)


def test_walking_adds_variance_in_proportion_to_time_and_moves_nothing() -> None:
    left, quarters = np.array([3.0, 0.0]), np.array([2.0, 1e-9])
    still, _ = filtered(left, quarters, [1, 1])
    walked, _ = filtered(left, quarters, [1, 1], growth=0.25)
    mean = float(still[-1] @ WANDERS)
    assert float(walked[-1] @ WANDERS) == pytest.approx(mean, abs=1e-6)
    spread = [float(kept[-1] @ (WANDERS - mean) ** 2) for kept in (still, walked)]
    assert spread[1] - spread[0] == pytest.approx(0.25, rel=0.02)


def test_after_maintenance_it_may_be_another_instrument() -> None:
    rng = np.random.default_rng(5)
    quarters = np.full(40, 2.0)
    left = np.concatenate([np.full(30, 12.0), np.full(10, 0.0)]) + rng.normal(0.0, 1.0, 40)
    forgetting, _ = filtered(left, quarters, [1] * 40, worked=(30,))
    keeping, _ = filtered(left, quarters, [1] * 40)
    assert abs(float(forgetting[-1] @ WANDERS)) < 0.7
    assert float(keeping[-1] @ WANDERS) > 3.0
    assert float(forgetting[29] @ WANDERS) == pytest.approx(6.0, abs=0.5)


def test_a_wrong_entry_is_known_and_counts_for_nothing() -> None:
    rng = np.random.default_rng(6)
    quarters = rng.uniform(1.0, 3.0, 20)
    left = 1.0 * quarters + rng.normal(0.0, 1.2, 20)
    struck = left.copy()
    struck[7] += 100.0
    lots = [1] * 20
    means = [float(filtered(one, quarters, lots, Noise())[0][-1] @ WANDERS) for one in (left, struck)]
    assert means[1] == pytest.approx(means[0], abs=0.15)
    out = np.zeros(20)
    first = np.arange(21, dtype=np.int64)
    filtering.wrong_checks(struck, quarters, first, np.full(20, means[1]), Noise(), out)
    # A setting may have been wrong instead, which is as good a reason; of one check alone nobody can tell.
    assert out[7] > 0.3
    assert np.delete(out, 7).max() < 0.2


def test_of_two_checks_after_a_setting_the_wrong_one_is_told() -> None:
    left, quarters = np.array([1.0, 101.0, 2.0]), np.array([1.0, 1.5, 2.0])
    out = np.zeros(3)
    filtering.wrong_checks(left, quarters, np.array([0, 3]), np.array([1.0]), Noise(), out)
    assert out[1] > 0.99
    assert max(out[0], out[2]) < 0.05


def test_left_and_right_are_alike() -> None:
    rng = np.random.default_rng(7)
    left, quarters = rng.normal(2.0, 5.0, 12), rng.uniform(0.5, 3.0, 12)
    right, other = (filtered(sign * left, quarters, [3] * 4, Noise())[0][-1] for sign in (1.0, -1.0))
    assert np.abs(right - other[::-1]).max() < 1e-12


def test_the_order_of_checks_since_a_setting_is_nothing_to_it() -> None:
    rng = np.random.default_rng(8)
    left, quarters = rng.normal(2.0, 5.0, 9), rng.uniform(0.5, 3.0, 9)
    mixed = np.concatenate([rng.permutation(3) + 3 * k for k in range(3)])
    one, other = (
        filtered(left[order], quarters[order], [3] * 3, Noise())[0][-1] for order in (np.arange(9), mixed)
    )
    assert np.abs(one - other).max() < 1e-12


@pytest.mark.parametrize("share", [0.025, 0.5, 0.975])
def test_quantiles_beside_scipy(share: float) -> None:
    mass = stats.norm.pdf(WANDERS, 0.7, 1.3) * CELL
    assert quantile(mass, WANDERS, share) == pytest.approx(stats.norm.ppf(share, 0.7, 1.3), abs=5e-3)


def test_the_prior_is_of_healthy_and_sick_instruments() -> None:
    expected = 0.8 * stats.norm.pdf(WANDERS) + 0.2 * stats.norm.pdf(WANDERS, scale=8.0)
    assert np.abs(PRIOR / CELL - expected).max() < 1e-4
