"""Values that jump from leg to leg, made to change smoothly."""

from __future__ import annotations

import numpy as np

from lubberline.flight.motion import STEP_S, Floats


def _hann(duration_s: float) -> Floats:
    count = round(duration_s / STEP_S)
    weights = np.sin(np.pi * (np.arange(count) + 0.5) / count) ** 2
    return np.asarray(weights / weights.sum())


def eased_after(values: Floats, duration_s: float) -> Floats:
    """Values that jump, made to change smoothly over `duration_s` after each jump."""
    weights = _hann(duration_s)
    padded = np.concatenate([np.full(len(weights) - 1, values[0]), values])
    return np.asarray(np.convolve(padded, weights, mode="valid"))


def eased_within(values: Floats, duration_s: float) -> Floats:
    """Values that jump, made to change smoothly over `duration_s` and nowhere above what they were.

    They rise after each jump up and fall before each jump down.
    """
    if np.all(values == values[0]):
        return values
    half = round(0.5 * duration_s / STEP_S)
    padded = np.pad(values, half, mode="edge")
    least = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1).min(axis=1)
    weights = _hann(2 * half * STEP_S + STEP_S)
    return np.asarray(np.convolve(np.pad(least, half, mode="edge"), weights, mode="valid"))
