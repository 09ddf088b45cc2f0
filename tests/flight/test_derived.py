"""Body rates against the turning of the body's own axes, which no formula of angles enters."""

import numpy as np
import pytest

from lubberline.flight.motion import STEP_S, smooth_motion


@pytest.mark.parametrize("seed", range(4))
def test_body_rates_turn_the_bodys_axes(seed: int) -> None:
    """The rate about an axis is how fast the second of the other two turns toward the first."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(400) * STEP_S
    zero = np.zeros(len(time_s))

    def swaying(size: float) -> np.ndarray:
        periods_s, phases = rng.uniform(12.0, 40.0, 3), rng.uniform(0.0, 6.0, 3)
        return size * sum(
            np.sin(2.0 * np.pi * time_s / p + f) for p, f in zip(periods_s, phases, strict=True)
        )

    samples = smooth_motion(
        latitude_rad=zero,
        longitude_rad=zero,
        altitude_m=zero,
        north_mps=zero,
        east_mps=zero,
        down_mps=zero,
        airspeed_mps=zero,
        heading_rad=swaying(0.6),
        pitch_rad=swaying(0.3),
        bank_rad=swaying(0.4),
        engine_rpm=zero,
    )
    nose, wing, floor = (
        np.stack([samples[f"{axis}_{part}"] for part in "ned"]) for axis in ("nose", "wing", "floor")
    )
    inner = slice(2, -2)
    turning = np.gradient(nose, STEP_S, axis=1), np.gradient(wing, STEP_S, axis=1)
    found = {
        "yaw_rate_rad_s": (turning[0] * wing).sum(axis=0),
        "pitch_rate_rad_s": -(turning[0] * floor).sum(axis=0),
        "roll_rate_rad_s": (turning[1] * floor).sum(axis=0),
    }
    for name, rate in found.items():
        np.testing.assert_allclose(samples[name][inner], rate[inner], atol=1e-3)
