"""A flight cut into stretches of steady heading, as a plan lists them."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from lubberline.flight.motion import STEP_S, Motion
from lubberline.simulation.heading_indicator.settings import straight_rows
from lubberline.units import DEG

# A change of heading by less is no new stretch.
SAME_HEADING_DEG = 8.0
# Shorter ones are taken with what follows: nobody plans a minute by itself.
LEAST_S = 120.0
BLOCK_S = 10.0


class Stretch(NamedTuple):
    """Samples of a motion from `first` to `last`, both included."""

    first: int
    last: int


def stretches_of(motion: Motion) -> tuple[Stretch, ...]:
    """The stretches of a flight in order, without gaps.

    A stretch ends where a turn onto another heading begins; short ones go with what follows them, the
    last with what came before.
    """
    heading = motion.samples["heading_rad"] / DEG
    straight = straight_rows(motion)
    stride = round(BLOCK_S / STEP_S)
    starts = [0]
    held: float | None = None
    for row in range(0, len(heading), stride):
        if not straight[row]:
            continue
        if held is None:
            held = float(heading[row])
        elif abs(heading[row] - held) > SAME_HEADING_DEG:
            starts.append(_turn_began(heading, row, held))
            held = float(heading[row])
    return _long_enough(starts, len(heading) - 1)


def _turn_began(heading: np.ndarray, row: int, held_deg: float) -> int:
    """The last sample before `row` that was still on the heading held before."""
    on = np.flatnonzero(np.abs(heading[:row] - held_deg) <= 1.0)
    return int(on[-1]) + 1 if len(on) else row


def _long_enough(starts: list[int], end: int) -> tuple[Stretch, ...]:
    least = LEAST_S / STEP_S
    kept = [starts[0]]
    for start, after in zip(starts[1:], [*starts[2:], end], strict=False):
        if start - kept[-1] >= least and after - start >= least:
            kept.append(start)
    ends = [*(start for start in kept[1:]), end]
    return tuple(Stretch(first, last) for first, last in zip(kept, ends, strict=True))
