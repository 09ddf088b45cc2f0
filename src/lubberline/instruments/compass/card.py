"""The card of a magnetic compass: how it hangs, and how it turns.

The card's *normal* n (unit, down through the card, body axes) follows apparent gravity, the negative of
specific force, by a first-order lag, and can't lean further from the case's floor axis than the tilt limit.
In the card's plane lie e1, the nose's projection, and e2 = n x e1, to the right. With the field B in body
axes, the card is in equilibrium at the heading

    equilibrium = atan2(-B.e2, B.e1)

and moves about n by (h the card's heading, v its rate in space, w the liquid's rate)

    h' = (turning of e1, e2 about n) - v
    v' = (moment |B in plane| / inertia) sin(h - equilibrium) - (damping / inertia) (v - w)
    w' = (liquid fraction x turning of the case about n - w) / liquid lag

Rates are against the level frame: the Earth's own turning, 15 deg/h, is nothing to a card. The pull of the
field's dip on the magnet tilts the card by 2 to 3 deg; to first order that does not turn it, so it does not
enter here.

Source: rigid card of a reference study; static forms: Ed Williams, Compass Errors (2001), eqs. 2 to 4.
"""

import math
from typing import Any, NamedTuple

from lubberline.angles import wrapped_rad
from lubberline.compiled import kernel
from lubberline.flight.motion import STEP_S
from lubberline.units import DEG, STANDARD_GRAVITY_MPS2

TESLA_PER_NT = 1e-9
# Under this apparent gravity a card hangs nowhere, and is taken to float with its case.
WEIGHTLESS_MPS2 = 1e-3
# Least square of the nose's part in the card's plane: keeps a nose straight up from dividing by zero.
NOSE_UPRIGHT = 1e-12
# The belief that a compass leads by the latitude: from this bank on in full, and at most this lean.
FULL_LEAN_RAD = 5.0 * DEG
GREATEST_LEAN_SINE = 0.9
# The fastest motion of the card is stepped at this phase or finer.
SUBSTEP_PHASE_RAD = 0.25


class Compass(NamedTuple):
    """A compass as built and as installed.

    Values are engineering choices for a small aircraft compass, not measurements of one. Deviation
    coefficients are those of the place of the swing, east positive, by compass heading.
    """

    magnet_moment_am2: float = 0.05
    inertia_kgm2: float = 1e-6
    pendulous_moment_nm: float = 6e-5
    damping_nms: float = 1.1e-6
    liquid_fraction: float = 0.35
    liquid_lag_s: float = 8.0
    tilt_lag_s: float = 0.17
    tilt_limit_deg: float = 18.0
    a_deg: float = 0.0
    b_deg: float = 0.0
    c_deg: float = 0.0
    d_deg: float = 0.0
    e_deg: float = 0.0


class CompassLaws(NamedTuple):
    """Coefficients and switches of every law of the compass; the defaults are the physics."""

    # Turning and acceleration errors as multiples of the true ones.
    compass_turning: float = 1.0
    compass_acceleration: float = 1.0
    # 1 if its errors keep the northern hemisphere's sense in the southern one.
    compass_northern_everywhere: float = 0.0
    # 1 if turning errs on east and west, acceleration on north and south.
    compass_swapped: float = 0.0
    # 1 if it leads or lags through north and south by the latitude, whatever the bank.
    compass_by_latitude: float = 0.0
    # The case's pull on the liquid as a multiple of the true one.
    compass_liquid: float = 1.0
    # 0 if its card comes to rest at once.
    compass_swings: float = 1.0
    # Deviation as a multiple of the true one (-1: the card applied the wrong way round).
    compass_deviation: float = 1.0


class CompassState(NamedTuple):
    """The card: its normal in body axes, its heading before deviation, its rate and the liquid's."""

    normal_forward: float
    normal_right: float
    normal_down: float
    card_rad: float
    rate_rad_s: float
    liquid_rad_s: float


@kernel
def _hang(forward: float, right: float, down: float, compass: Any) -> tuple[float, float, float]:
    """Direction of an apparent gravity (body axes), within the tilt limit of the floor axis."""
    size = math.sqrt(forward * forward + right * right + down * down)
    if size < WEIGHTLESS_MPS2:
        return 0.0, 0.0, 1.0
    cosine = math.cos(compass.tilt_limit_deg * DEG)
    if down >= cosine * size:
        scale = 1.0 / size
        return scale * forward, scale * right, scale * down
    across = math.hypot(forward, right)
    if across < WEIGHTLESS_MPS2:
        return 0.0, 0.0, 1.0
    scale = math.sin(compass.tilt_limit_deg * DEG) / across
    return scale * forward, scale * right, cosine


@kernel
def _unit(forward: float, right: float, down: float) -> tuple[float, float, float]:
    scale = 1.0 / math.sqrt(forward * forward + right * right + down * down)
    return scale * forward, scale * right, scale * down


@kernel
def _normals(
    here: Any, compass: Any, laws: Any
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Where the card would hang: with the sideways force alone, and with the lengthwise one too.

    Under changed laws the lean away from the true vertical is multiplied, part by part.
    """
    right, down = -here.force_right_mps2, -here.force_down_mps2
    # The nose's share of gravity is all that is left of the forward force without acceleration along it.
    share = STANDARD_GRAVITY_MPS2 * here.nose_d
    side = _hang(share, right, down, compass)
    full = _hang(-here.force_forward_mps2, right, down, compass)
    if laws.compass_turning == 1.0 and laws.compass_acceleration == 1.0 and laws.compass_swapped == 0.0:
        return side, full
    turning, lengthwise = laws.compass_turning, laws.compass_acceleration
    lean_f, lean_r = side[0] - here.nose_d, side[1] - here.wing_d
    more_f, more_r = full[0] - side[0], full[1] - side[1]
    if laws.compass_swapped != 0.0:
        lean_f, lean_r, more_f, more_r = lean_r, lean_f, more_r, more_f
    side_f = here.nose_d + turning * lean_f
    side_r = here.wing_d + turning * lean_r
    side_d = here.floor_d + turning * (side[2] - here.floor_d)
    full_f = side_f + lengthwise * more_f
    full_r = side_r + lengthwise * more_r
    full_d = side_d + lengthwise * (full[2] - side[2])
    return _unit(side_f, side_r, side_d), _unit(full_f, full_r, full_d)


@kernel
def _body_field(here: Any, earth: Any, laws: Any) -> tuple[float, float, float]:
    """The Earth's field in body axes, in tesla."""
    north, east, down = earth.north_nt, earth.east_nt, earth.down_nt
    if laws.compass_northern_everywhere != 0.0:
        down = abs(down)
    return (
        TESLA_PER_NT * (here.nose_n * north + here.nose_e * east + here.nose_d * down),
        TESLA_PER_NT * (here.wing_n * north + here.wing_e * east + here.wing_d * down),
        TESLA_PER_NT * (here.floor_n * north + here.floor_e * east + here.floor_d * down),
    )


@kernel
def _by_latitude(
    here: Any, earth: Any, side: tuple[float, float, float], full: tuple[float, float, float]
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """The normals of a card that, in any bank, leans sideways as much as makes it lead by the latitude.

    From lead = atan(tan dip sin lean), through north and south.
    """
    pull = abs(earth.down_nt) * here.latitude_cos
    lead = math.hypot(earth.north_nt, earth.east_nt) * abs(here.latitude_sin)
    limit = math.asin(min(lead / pull, GREATEST_LEAN_SINE)) if pull > 0.0 else 0.0
    lean = math.atan2(
        here.floor_d * side[1] - here.wing_d * side[2], here.wing_d * side[1] + here.floor_d * side[2]
    )
    change = limit * max(-1.0, min(1.0, lean / FULL_LEAN_RAD)) - lean
    s, c = math.sin(change), math.cos(change)
    right, down = c * side[1] + s * side[2], c * side[2] - s * side[1]
    more = (full[0] - side[0], full[1] - side[1], full[2] - side[2])
    return _unit(side[0], right, down), _unit(side[0] + more[0], right + more[1], down + more[2])


@kernel
def look(
    samples: Any, field: Any, i: int, compass: Any, laws: Any
) -> tuple[tuple[float, float, float], tuple[float, float, float], tuple[float, float, float]]:
    """What acts on the card at sample i: the two normals of `_normals`, and the field in body axes."""
    side, full = _normals(samples[i], compass, laws)
    if laws.compass_by_latitude != 0.0:
        side, full = _by_latitude(samples[i], field[i], side, full)
    return side, full, _body_field(samples[i], field[i], laws)


@kernel
def in_plane(n: tuple[float, float, float], b: tuple[float, float, float]) -> tuple[float, float]:
    """The field along e1 and e2 of a card with normal n."""
    scale = 1.0 / math.sqrt(max(1.0 - n[0] * n[0], NOSE_UPRIGHT))
    through = n[0] * b[0] + n[1] * b[1] + n[2] * b[2]
    return scale * (b[0] - n[0] * through), scale * (n[2] * b[1] - n[1] * b[2])


@kernel
def case_rate_rad_s(here: Any, n: tuple[float, float, float]) -> float:
    """Turning of the case about the card's normal."""
    return float(here.roll_rate_rad_s * n[0] + here.pitch_rate_rad_s * n[1] + here.yaw_rate_rad_s * n[2])


@kernel
def _push(
    card_rad: float, rate_rad_s: float, liquid_rad_s: float, along: float, across: float, compass: Any
) -> float:
    """Acceleration of the card about its normal: magnet and liquid."""
    magnet = math.sin(card_rad) * along + math.cos(card_rad) * across
    drag = compass.damping_nms * (rate_rad_s - liquid_rad_s)
    return float((compass.magnet_moment_am2 * magnet - drag) * (1.0 / compass.inertia_kgm2))


@kernel
def _at(start: Any, end: Any, share: float) -> tuple[float, float, float, float]:
    return (
        start[0] + share * (end[0] - start[0]),
        start[1] + share * (end[1] - start[1]),
        start[2] + share * (end[2] - start[2]),
        start[3] + share * (end[3] - start[3]),
    )


@kernel
def _runge(
    h: float,
    v: float,
    w: float,
    start: Any,
    end: Any,
    share: float,
    width: float,
    dt: float,
    compass: Any,
) -> tuple[float, float, float]:
    """One Runge step of heading, card rate and liquid rate."""
    first = _at(start, end, share)
    middle = _at(start, end, share + 0.5 * width)
    last = _at(start, end, share + width)
    fraction, lag = compass.liquid_fraction, compass.liquid_lag_s
    half = 0.5 * dt
    h1 = first[2] - v
    v1 = _push(h, v, w, first[0], first[1], compass)
    w1 = (fraction * first[3] - w) / lag
    h2 = middle[2] - (v + half * v1)
    v2 = _push(h + half * h1, v + half * v1, w + half * w1, middle[0], middle[1], compass)
    w2 = (fraction * middle[3] - (w + half * w1)) / lag
    h3 = middle[2] - (v + half * v2)
    v3 = _push(h + half * h2, v + half * v2, w + half * w2, middle[0], middle[1], compass)
    w3 = (fraction * middle[3] - (w + half * w2)) / lag
    h4 = last[2] - (v + dt * v3)
    v4 = _push(h + dt * h3, v + dt * v3, w + dt * w3, last[0], last[1], compass)
    w4 = (fraction * last[3] - (w + dt * w3)) / lag
    sixth = dt / 6.0
    return (
        h + sixth * (h1 + 2.0 * (h2 + h3) + h4),
        v + sixth * (v1 + 2.0 * (v2 + v3) + v4),
        w + sixth * (w1 + 2.0 * (w2 + w3) + w4),
    )


@kernel
def _swing(
    state: Any,
    n: tuple[float, float, float],
    start: tuple[float, float, float, float],
    end: tuple[float, float, float, float],
    compass: Any,
) -> CompassState:
    """Card and liquid over one step, by Runge's fourth-order rule in as many parts as the card asks.

    `start` and `end` hold the field along e1 and e2, and the turning about the normal of e1 and e2 and of
    the case; all four change evenly between.
    """
    strongest = max(start[0] * start[0] + start[1] * start[1], end[0] * end[0] + end[1] * end[1])
    pull = compass.magnet_moment_am2 * math.sqrt(strongest)
    fastest = max(math.sqrt(pull / compass.inertia_kgm2), compass.damping_nms / compass.inertia_kgm2)
    parts = max(1, math.ceil(STEP_S * fastest / SUBSTEP_PHASE_RAD))
    dt = STEP_S / parts
    h, v, w = state.card_rad, state.rate_rad_s, state.liquid_rad_s
    for part in range(parts):
        h, v, w = _runge(h, v, w, start, end, part / parts, 1.0 / parts, dt, compass)
    return CompassState(n[0], n[1], n[2], wrapped_rad(h), v, w)


@kernel
def _tilted(state: Any, start: Any, end: Any, compass: Any) -> tuple[float, float, float]:
    """The normal after a step, its aim moving evenly from `start` to `end`: the exact first-order lag."""
    steps = STEP_S / compass.tilt_lag_s
    kept = math.exp(-steps)
    mean = (1.0 - kept) / steps
    old, new = mean - kept, 1.0 - mean
    return _unit(
        kept * state.normal_forward + old * start[0] + new * end[0],
        kept * state.normal_right + old * start[1] + new * end[1],
        kept * state.normal_down + old * start[2] + new * end[2],
    )


@kernel
def at_rest(here: Any, acting: Any, compass: Any, laws: Any) -> CompassState:
    """The card in its equilibrium under what acts (`look`), the liquid turning as in the long run."""
    n = acting[1]
    along, across = in_plane(n, acting[2])
    liquid = laws.compass_liquid * compass.liquid_fraction * case_rate_rad_s(here, n)
    return CompassState(n[0], n[1], n[2], math.atan2(-across, along), 0.0, liquid)


@kernel
def carry(
    state: Any, before: Any, after: Any, first: Any, last: Any, compass: Any, laws: Any
) -> CompassState:
    """One step, from sample `before` to `after` with what acts at each (`look`)."""
    if laws.compass_swings == 0.0:
        return at_rest(after, last, compass, laws)
    old = (state.normal_forward, state.normal_right, state.normal_down)
    new = _tilted(state, first[1], last[1], compass)
    # e1 and e2 follow the leaning normal, which turns them about it: -(n.x)(dn.e2)/(1 - (n.x)^2).
    mean_f, mean_r, mean_d = 0.5 * (old[0] + new[0]), 0.5 * (old[1] + new[1]), 0.5 * (old[2] + new[2])
    slip = (new[1] - old[1]) * mean_d - (new[2] - old[2]) * mean_r
    leaning = -mean_f * slip / (max(1.0 - mean_f * mean_f, NOSE_UPRIGHT) * STEP_S)
    along, across = in_plane(old, first[2])
    turning = case_rate_rad_s(before, old)
    start = (along, across, turning + leaning, laws.compass_liquid * turning)
    along, across = in_plane(new, last[2])
    turning = case_rate_rad_s(after, new)
    end = (along, across, turning + leaning, laws.compass_liquid * turning)
    return _swing(state, new, start, end, compass)
