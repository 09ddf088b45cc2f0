"""Values brought to where they are wanted as fast as limits on their rate and its change allow."""

from __future__ import annotations

import math

from lubberline.compiled import kernel


@kernel
def chase(
    value: float, rate: float, target: float, greatest_rate: float, greatest_change: float, step_s: float
) -> tuple[float, float]:
    """A value and its rate one step later, on the way to a target and stopping there.

    The rate wanted is the greatest from which the value still comes to rest at the target,
    v dt + v^2 / (2 a) = distance.

    Args:
        value: now.
        rate: now, 1/s.
        target: where to.
        greatest_rate: of the value.
        greatest_change: of the rate, 1/s2 (a in the formula).
        step_s: the step.
    """
    gap = target - value
    stopping = greatest_change * (math.sqrt(step_s * step_s + 2.0 * abs(gap) / greatest_change) - step_s)
    wanted = math.copysign(min(stopping, greatest_rate), gap)
    reach = greatest_change * step_s
    after = rate + min(max(wanted - rate, -reach), reach)
    return value + step_s * after, after


@kernel
def follow(value: float, target: float, greatest_rate: float, step_s: float) -> float:
    """A value one step later, moving to a target at no more than a rate."""
    reach = greatest_rate * step_s
    return value + min(max(target - value, -reach), reach)
