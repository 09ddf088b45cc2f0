"""The bench as a frame: plain numbers for a page, by the names of `docs/developers/live.md`."""

from __future__ import annotations

import math
from typing import Any

from lubberline.earth.magnetic import zone_of
from lubberline.flight.motion import STEP_S
from lubberline.instruments.faults import FAULTS
from lubberline.instruments.heading_indicator.gyro import AVERAGED, HELD
from lubberline.instruments.heading_indicator.inside import inside
from lubberline.instruments.suction.drive import SuctionState
from lubberline.simulation.heading_indicator.ledger import account_now, rates_deg_h
from lubberline.simulation.live.advance import wander_along_nm
from lubberline.simulation.live.state import Believer, BenchState, Carried
from lubberline.units import DEG, FT_M, HOUR_S, INHG_PA, KT_MPS, RAD_PER_RPM, STANDARD_GRAVITY_MPS2

Frame = dict[str, Any]
GRAMS_PER_KG = 1000.0


def rounded(value: float, digits: int) -> float | None:
    """A number for a message; nothing where it is none, and no negative zero."""
    return round(float(value), digits) + 0.0 if math.isfinite(value) else None


def rose_deg(angle_rad: float) -> float:
    """A heading in 0 <= h < 360, for a message."""
    return (round(angle_rad / DEG, 4) % 360.0) + 0.0


def signed_deg(angle_rad: float) -> float:
    """An angle in (-180, 180], for a message."""
    turned = -((-angle_rad / DEG + 180.0) % 360.0 - 180.0)
    return round(turned, 4) + 0.0


def _truth(state: BenchState) -> Frame:
    before, here, after = state.samples
    north, east = float(here["north_mps"]), float(here["east_mps"])
    heading = float(here["heading_rad"])
    field = state.field[0]
    horizontal = math.hypot(field["north_nt"], field["east_nt"])
    span_s = STEP_S * (2.0 if state.step else 1.0)
    return {
        "heading_deg": rose_deg(heading),
        "magnetic_deg": rose_deg(heading - state.variation_rad),
        "pitch_deg": rounded(here["pitch_rad"] / DEG, 3),
        "bank_deg": rounded(here["bank_rad"] / DEG, 3),
        "track_deg": rose_deg(math.atan2(east, north)),
        "groundspeed_kt": rounded(math.hypot(north, east) / KT_MPS, 2),
        "airspeed_kt": rounded(here["airspeed_mps"] / KT_MPS, 2),
        "altitude_ft": rounded(here["altitude_m"] / FT_M, 1),
        "latitude_deg": rounded(here["latitude_rad"] / DEG, 5),
        "longitude_deg": signed_deg(float(here["longitude_rad"])),
        "variation_deg": signed_deg(state.variation_rad),
        "dip_deg": rounded(math.atan2(field["down_nt"], horizontal) / DEG, 2),
        "horizontal_nt": rounded(horizontal, 0),
        "zone": zone_of(horizontal),
        "turn_rate_deg_s": rounded((after["heading_rad"] - before["heading_rad"]) / span_s / DEG, 3),
        "load_g": rounded(-here["force_down_mps2"] / STANDARD_GRAVITY_MPS2, 3),
        "slip": 0,
    }


def _shown(state: BenchState, carried: Carried) -> Frame:
    row, drive = carried.truth.rows[-1], carried.drive[1]
    compass = float(carried.truth.compass_row[0]["reading_rad"])
    magnetic = float(state.samples[1]["heading_rad"]) - state.variation_rad
    return {
        "indicated_deg": rose_deg(float(row["indicated_rad"])),
        "error_deg": signed_deg(float(row["indicated_rad"]) - state.reference_rad),
        "compass_deg": rose_deg(compass),
        "compass_error_deg": signed_deg(compass - magnetic),
        "gauge_inhg": rounded(drive["gauge_pa"] / INHG_PA, 3),
        "rotor_rpm": rounded(drive["rotor_rad_s"] / RAD_PER_RPM, 1),
    }


def _gyro(state: BenchState, carried: Carried, finger_nm: float) -> Frame:
    truth = carried.truth
    gyro, row = truth.gyro, truth.rows[-1]
    wander = wander_along_nm(carried, max(state.step - 1, 0), 2)
    within = inside(gyro, state.samples[:2], carried.drive, wander, 0, 1.0, STEP_S, carried.gyro, truth.laws)
    regime = {AVERAGED: "averaged", HELD: "held"}.get(gyro.regime, "rigid")
    per_hour = HOUR_S / DEG
    return {
        "outer_deg": signed_deg(gyro.knob_rad - float(row["indicated_rad"])),
        "tilt_deg": rounded(row["tilt_rad"] / DEG, 3),
        "knob_deg": rose_deg(gyro.knob_rad),
        "rotor_turns": round(carried.rotor_turns % 1.0, 4),
        "caged": gyro.caged != 0.0,
        "on_stop": bool(row["on_stop"] != 0.0),
        "regime": regime,
        "spin_n": rounded(gyro.spin_n, 6),
        "spin_e": rounded(gyro.spin_e, 6),
        "spin_d": rounded(gyro.spin_d, 6),
        "torque_inner_nm": rounded(within.inner_nm, 9),
        "torque_outer_nm": rounded(within.outer_nm, 9),
        "precession_card_deg_h": rounded(within.card_rad_s * per_hour, 2),
        "precession_tilt_deg_h": rounded(within.tilt_rad_s * per_hour, 2),
        "finger_nm": finger_nm,
    }


def _air(carried: Carried) -> Frame | None:
    state = carried.drive_state
    if not isinstance(state, SuctionState):
        return None
    flow = state.airflow
    return {
        "engine_rpm": rounded(flow.engine_rpm, 0),
        "manifold_inhg": rounded(flow.manifold_pa / INHG_PA, 3),
        "instrument_inhg": rounded(flow.instrument_pa / INHG_PA, 3),
        "filter_inhg": rounded((flow.manifold_pa - flow.instrument_pa) / INHG_PA, 3),
        "pump_g_s": rounded(flow.pump_kg_s * GRAMS_PER_KG, 3),
        "instrument_g_s": rounded(flow.instrument_kg_s * GRAMS_PER_KG, 3),
        "regulator_g_s": rounded(flow.regulator_kg_s * GRAMS_PER_KG, 3),
        "leak_g_s": rounded(flow.leak_kg_s * GRAMS_PER_KG, 3),
        "jet_mps": rounded(flow.jet_mps, 1),
    }


def _ghost(believer: Believer) -> Frame:
    row = believer.rows[-1]
    return {
        "id": believer.id,
        "indicated_deg": rose_deg(float(row["indicated_rad"])),
        "compass_deg": rose_deg(float(believer.compass_row[0]["reading_rad"])),
        "tilt_deg": rounded(row["tilt_rad"] / DEG, 3),
    }


def _carried(state: BenchState, carried: Carried, finger_nm: float) -> Frame:
    truth = carried.truth
    ledger = account_now(truth, state.time_s, state.variation_rad, state.true_reference)
    sizes = {name: getattr(carried.faults, fault.field) for name, fault in FAULTS.items()}
    return {
        "shown": _shown(state, carried),
        "gyro": _gyro(state, carried, finger_nm),
        "air": _air(carried),
        "ledger": {name: rounded(value, 4) for name, value in ledger.items()},
        "since_set_s": round((state.step - truth.setting.step) * STEP_S, 1),
        "rates": {name: rounded(value, 3) for name, value in rates_deg_h(truth).items()},
        "ghosts": [_ghost(believer) for believer in carried.believers[1:]],
        "faults": {name: size for name, size in sizes.items() if size},
    }


def view(state: BenchState) -> Frame:
    """What a page shows of a bench at a step: all of a frame that is the engine's."""
    first = _carried(state, state.carried[0], state.finger_nm)
    frame: Frame = {"time_s": round(state.time_s, 1), "truth": _truth(state), **first}
    frame["reference"] = "true" if state.true_reference else "magnetic"
    frame["on_ground"] = state.steer.on_ground != 0.0
    if len(state.carried) > 1:
        frame["second"] = _carried(state, state.carried[1], 0.0)
    return frame


# Headings in 0 <= h < 360, and angles in (-180, 180]; other angles of a frame do not wrap.
ROSE = frozenset({"heading_deg", "magnetic_deg", "track_deg", "indicated_deg", "compass_deg", "knob_deg"})
SIGNED = frozenset(
    {"outer_deg", "error_deg", "compass_error_deg", "longitude_deg", "variation_deg", "bank_deg"}
)
DIGITS = 9


def _angle(name: str, first: float, last: float, share: float) -> float:
    way = (last - first + 180.0) % 360.0 - 180.0
    turned = round(first + share * way, 4)
    if name in ROSE:
        return turned % 360.0
    return -((-turned + 180.0) % 360.0 - 180.0) + 0.0


def _number(name: str, first: float, last: float, share: float) -> float:
    if name in ROSE or name in SIGNED:
        return _angle(name, first, last, share)
    if name == "rotor_turns":
        return round((first + share * ((last - first) % 1.0)) % 1.0, 4)
    return round(first + share * (last - first), DIGITS)


def between(first: Any, last: Any, share: float, name: str = "") -> Any:
    """Numbers and angles `share` of the way from one frame to the next; all else as in the later one.

    Args:
        first: a frame, or a part of one.
        last: the next, of the same shape.
        share: 0 to 1.
        name: of the part.
    """
    if isinstance(last, dict):
        if not isinstance(first, dict):
            return last
        return {key: between(first.get(key), value, share, key) for key, value in last.items()}
    if isinstance(last, list):
        if not isinstance(first, list) or len(first) != len(last):
            return last
        return [between(before, after, share, name) for before, after in zip(first, last, strict=True)]
    if isinstance(last, float) and isinstance(first, float):
        return last if first == last else _number(name, first, last, share)
    return last
