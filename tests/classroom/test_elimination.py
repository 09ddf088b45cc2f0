"""Exact sums over things that share evidence, against adding up every combination with numpy.einsum."""

import numpy as np
import pytest

from lubberline.classroom.diagnosis.beliefs import Factor, posterior

LETTERS = "abcdefgh"


@pytest.mark.parametrize("seed", range(12))
def test_sums_are_those_of_every_combination(seed: int) -> None:
    rng = np.random.default_rng(seed)
    states = rng.integers(2, 5, size=6).tolist()
    scopes = [(thing,) for thing in range(6)]
    scopes += [
        tuple(sorted(rng.choice(6, size=rng.integers(2, 4), replace=False).tolist())) for _ in range(6)
    ]
    factors = [Factor(scope, rng.random((3, *(states[thing] for thing in scope))) + 0.01) for scope in scopes]
    terms = ",".join("z" + "".join(LETTERS[thing] for thing in factor.scope) for factor in factors)
    arrays = [factor.values for factor in factors]
    marginals, logs = posterior(states, factors, 3)
    whole = np.einsum(f"{terms}->z", *arrays, optimize=True)
    assert np.allclose(logs, np.log(whole))
    for thing in range(6):
        right = np.einsum(f"{terms}->z{LETTERS[thing]}", *arrays, optimize=True) / whole[:, None]
        assert np.allclose(marginals[thing], right)


def test_a_factor_for_all_cases_at_once() -> None:
    rng = np.random.default_rng(1)
    own, for_all = rng.random((4, 3)) + 0.1, rng.random((1, 3)) + 0.1
    marginals, _ = posterior([3], [Factor((0,), own), Factor((0,), for_all)], 4)
    assert np.allclose(marginals[0], own * for_all / (own * for_all).sum(axis=1, keepdims=True))
