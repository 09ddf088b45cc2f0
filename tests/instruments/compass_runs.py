"""A compass card on motions given by plain functions, and E. Williams' closed forms of its errors (2001)."""

import math

import numpy as np

from lubberline.earth.magnetic import FIELD_SAMPLE
from lubberline.flight.motion import STEP_S, smooth_motion
from lubberline.instruments.compass.card import Compass, CompassLaws
from lubberline.instruments.compass.reading import (
    COMPASS_ROW,
    carry_compass,
    settle_compass,
)
from lubberline.units import DEG, STANDARD_GRAVITY_MPS2

PHYSICS = CompassLaws()

TOTAL_NT = 52000.0
LEDGER = ("deviation_rad", "turning_rad", "acceleration_rad", "lag_rad")


def difference_deg(first_deg, second_deg):
    return (np.asarray(first_deg) - second_deg + 180.0) % 360.0 - 180.0


def field_of(count, dip_deg, variation_deg=0.0):
    field = np.zeros(count, FIELD_SAMPLE)
    horizontal = TOTAL_NT * math.cos(dip_deg * DEG)
    field["north_nt"] = horizontal * math.cos(variation_deg * DEG)
    field["east_nt"] = horizontal * math.sin(variation_deg * DEG)
    field["down_nt"] = TOTAL_NT * math.sin(dip_deg * DEG)
    return field


def motion_of(heading_rad, speed_mps, pitch_rad=0.0, bank_rad=0.0, down_mps=0.0):
    zero = np.zeros_like(heading_rad)
    return smooth_motion(
        latitude_rad=zero,
        longitude_rad=zero,
        altitude_m=zero,
        north_mps=speed_mps * np.cos(heading_rad),
        east_mps=speed_mps * np.sin(heading_rad),
        down_mps=zero + down_mps,
        airspeed_mps=zero + speed_mps,
        heading_rad=heading_rad,
        pitch_rad=zero + pitch_rad,
        bank_rad=zero + bank_rad,
        engine_rpm=zero,
    )


def steady_turn(bank_deg, rate_deg_s, turns=3.0, from_deg=0.0):
    """A coordinated turn at a bank and rate; the speed is what these two ask for."""
    seconds = np.arange(0.0, turns * 360.0 / rate_deg_s, STEP_S)
    speed_mps = STANDARD_GRAVITY_MPS2 * math.tan(abs(bank_deg) * DEG) / (rate_deg_s * DEG)
    heading_rad = from_deg * DEG + math.copysign(rate_deg_s, bank_deg) * DEG * seconds
    return motion_of(heading_rad, speed_mps, bank_rad=bank_deg * DEG)


def straight(heading_deg, acceleration_g, seconds=60.0):
    times_s = np.arange(0.0, seconds, STEP_S)
    speed_mps = 100.0 + acceleration_g * STANDARD_GRAVITY_MPS2 * times_s
    return motion_of(np.full(len(times_s), heading_deg * DEG), speed_mps)


def williams_turn(heading_deg, bank_deg, dip_deg):
    """Williams eq. 2: coordinated turn, right bank positive."""
    p, f = heading_deg * DEG, bank_deg * DEG
    card = math.atan2(math.sin(p) * math.cos(f) - math.tan(dip_deg * DEG) * math.sin(f), math.cos(p))
    return math.degrees(card)


def williams_acceleration(heading_deg, acceleration_g, dip_deg):
    """Williams eqs. 3 and 4: straight, speeding up positive."""
    p, e = heading_deg * DEG, math.atan(acceleration_g)
    along = math.cos(p) * math.cos(e) + math.tan(dip_deg * DEG) * math.sin(e)
    return math.degrees(math.atan2(math.sin(p), along))


def fly_compass(samples, field, compass, laws):
    rows = np.zeros(len(samples), dtype=COMPASS_ROW)
    state = settle_compass(samples, field, 0, compass, laws)
    carry_compass(state, samples, field, compass, laws, rows)
    return rows


def compass_step(state, samples, field, i, compass, laws):
    rows = np.zeros(2, dtype=COMPASS_ROW)
    return carry_compass(state, samples[i : i + 2], field[i : i + 2], compass, laws, rows)


def compass_row(state, samples, field, i, compass, laws):
    rows = np.zeros(1, dtype=COMPASS_ROW)
    carry_compass(state, samples[i : i + 1], field[i : i + 1], compass, laws, rows)
    return tuple(rows[0].tolist())


def flown(samples, dip_deg, compass, laws=PHYSICS):
    return fly_compass(samples, field_of(len(samples), dip_deg), compass, laws)


def settled_deg(samples, dip_deg, at=50, compass=None, laws=PHYSICS):
    """The static reading at one moment of a motion."""
    field = field_of(len(samples), dip_deg)
    state = settle_compass(samples, field, at, compass or Compass(), laws)
    return math.degrees(state.card_rad)


def wild(t, scale=1.0):
    """Heading, pitch, bank and horizontal velocity of an uncoordinated, rough, accelerating flight."""
    heading = 0.8 + 0.05 * t + 0.3 * np.sin(0.21 * t)
    pitch = scale * (0.10 * np.sin(0.6 * t) + 0.05)
    bank = scale * (0.22 * np.sin(0.35 * t) + 0.05 * np.sin(1.7 * t))
    speed = 60.0 + 10.0 * np.sin(0.1 * t)
    return heading, pitch, bank, speed
