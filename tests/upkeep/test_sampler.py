"""The estimate of wander beside emcee, a general-purpose ensemble sampler of the same densities."""

import pytest

from benchmarks.upkeep import FLEET, GOAL_S, compared, fleet_s


@pytest.mark.acceptance
def test_the_sampler_gives_the_same_answer_within_its_error() -> None:
    one = compared()
    assert one.own_mean == pytest.approx(one.sampled_mean, abs=4.0 * one.error_of_mean)
    assert one.own_sd == pytest.approx(one.sampled_sd, abs=4.0 * one.error_of_sd)
    assert one.sampler_s > 100.0 * one.own_s


@pytest.mark.acceptance
def test_a_fleet_with_five_years_of_logs_is_judged_in_time() -> None:
    """Fifty aircraft, 100,000 checks, 10 s on two cores: in processor time, which is less disturbed."""
    fleet_s(2, 40)
    _, worked_s = fleet_s(FLEET)
    assert worked_s < 2.0 * GOAL_S
