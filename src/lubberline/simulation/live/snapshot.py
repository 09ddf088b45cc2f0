"""A bench's state put back into the fields of a scene, so that it can be kept and opened again.

What is kept is what can be told to a bench: where it is, how it flies, what it carries, what is wrong, what
the card reads. A turn already begun, the tilt of a housing or a rotor on its way down begin anew.
"""

from __future__ import annotations

from typing import Any

import msgspec

from lubberline.flight.steering import BANK, HEADING, turned_rad
from lubberline.flight.turbulence import LEVEL_BANK_SD_DEG
from lubberline.instruments.faults import FAULTS
from lubberline.simulation.live.begin import BENCH_AIRCRAFT, Start
from lubberline.simulation.live.state import BenchState, Carried
from lubberline.units import DEG, FPM_MPS, FT_M, KT_MPS

Fields = dict[str, Any]
# A card that reads right within this is set rightly again.
RIGHT_DEG = 0.05


def _start(state: BenchState, first: Start) -> Fields:
    here = state.samples[1]
    fields: Fields = {
        "latitude_deg": round(float(here["latitude_rad"]) / DEG, 4),
        "longitude_deg": round((float(here["longitude_rad"]) / DEG + 180.0) % 360.0 - 180.0, 4),
        "heading_deg": round(state.steered.heading_rad / DEG % 360.0, 2) % 360.0,
        "speed_kt": round(state.steered.airspeed_mps / KT_MPS, 1),
        "altitude_ft": round(max(state.steered.altitude_m, 0.0) / FT_M, 0),
        "engine_rpm": round(state.steer.engine_rpm, 0),
        "on_ground": state.steer.on_ground != 0.0,
        "seed": state.seed,
        "utc": first.utc,
    }
    indicated = float(state.carried[0].truth.rows[-1]["indicated_rad"]) / DEG
    error_deg = (indicated - state.reference_rad / DEG + 180.0) % 360.0 - 180.0
    # Under true reference the card is set at its event; a reading is kept there.
    if abs(error_deg) > RIGHT_DEG and not state.true_reference:
        fields["indicated_deg"] = round(indicated, 2) % 360.0
    defaults = msgspec.structs.asdict(Start())
    return {name: value for name, value in fields.items() if defaults[name] != value}


def _orders(state: BenchState) -> list[Fields]:
    steer = state.steer
    done: list[Fields] = []
    if state.true_reference:
        done.append({"do": "reference", "true": True})
        indicated = float(state.carried[0].truth.rows[-1]["indicated_rad"]) / DEG
        if abs((indicated - state.reference_rad / DEG + 180.0) % 360.0 - 180.0) > RIGHT_DEG:
            done.append({"do": "set", "to_deg": round(indicated, 2)})
    turn = round(steer.turn_to / DEG, 2)
    if steer.turning == HEADING:
        if abs(turned_rad(steer.turn_to - state.steered.heading_rad)) > 0.01 * DEG:
            done.append({"do": "heading", "to_deg": turn % 360.0})
    elif turn:
        done.append(
            {"do": "bank", "to_deg": turn} if steer.turning == BANK else {"do": "rate", "to_deg_s": turn}
        )
    for order, value in (("pitch", steer.pitch_rad), ("roll", steer.roll_rad)):
        if value:
            done.append({"do": order, "to_deg": round(value / DEG, 2)})
    if steer.climb_mps:
        done.append({"do": "climb", "to_fpm": round(steer.climb_mps / FPM_MPS, 0)})
    for level, sd_deg in LEVEL_BANK_SD_DEG.items():
        if sd_deg and abs(steer.bank_sd_rad - sd_deg * DEG) < 1e-9:
            done.append({"do": "rough", "level": level})
    if state.carried[0].truth.gyro.caged:
        done.append({"do": "cage", "on": True})
    if state.finger_nm:
        done.append({"do": "finger", "torque_nm": state.finger_nm})
    done.extend({"do": "ghost", "id": ghost.id, "on": True} for ghost in state.carried[0].believers[1:])
    return done


def aircraft_fields(carried: Carried) -> Fields:
    """What an aircraft carries, as `docs/aircraft.md`, without what is as usual on the bench."""
    fields: Fields = {}
    for table in ("heading_indicator", "suction", "compass", "pilot"):
        usual = msgspec.to_builtins(getattr(BENCH_AIRCRAFT, table))
        own = msgspec.to_builtins(getattr(carried.aircraft, table))
        differing = {name: value for name, value in own.items() if usual[name] != value}
        if differing:
            fields[table] = differing
    sizes = ((name, float(getattr(carried.faults, fault.field))) for name, fault in FAULTS.items())
    faults = [{"name": name, "size": size} for name, size in sizes if size]
    if faults:
        fields["fault"] = faults
    return fields


def scene_fields(state: BenchState, first: Start) -> Fields:
    """The fields of a scene that starts as this state is.

    Args:
        state: the bench now.
        first: where it started, for the date.
    """
    fields: Fields = {"start": _start(state, first)}
    aircraft = aircraft_fields(state.carried[0])
    if aircraft:
        fields["aircraft"] = aircraft
    orders = _orders(state)
    if orders:
        fields["event"] = [{"at_s": 0.0, "do": order} for order in orders]
    if len(state.carried) > 1:
        fields["second"] = {"aircraft": aircraft_fields(state.carried[1])}
    return fields
