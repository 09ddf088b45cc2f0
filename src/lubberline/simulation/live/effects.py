"""The effect of an order on a bench: from a state and an order to a new state and a sentence."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import msgspec
import numpy as np
from msgspec import UNSET

from lubberline.angles import rose_deg
from lubberline.earth.magnetic import FIELD_SAMPLE, field_here, put_field
from lubberline.errors import InputError
from lubberline.flight.legs.turns import bank_for_rate_rad
from lubberline.flight.motion import STEP_S, put_derived
from lubberline.flight.steering import BANK, HEADING, RATE, placed
from lubberline.flight.turbulence import LEVEL_BANK_SD_DEG
from lubberline.instruments.faults import with_fault
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.fitted import Done, instruments
from lubberline.simulation.live import orders
from lubberline.simulation.live.state import (
    TAXI_KT,
    Believer,
    BenchState,
    Carried,
    carry_instruments,
    reset_instruments,
)
from lubberline.simulation.misconceptions import flown_idea
from lubberline.units import DEG, FPM_MPS, KT_MPS, STANDARD_GRAVITY_MPS2

RATE_ONE_RAD_S = 3.0 * DEG
GREATEST_HEADING_BANK_DEG = 25.0
BRAKING_G = 0.3
GREATEST_GHOSTS = 6


def _steered(state: BenchState, **changes: float) -> BenchState:
    return replace(state, steer=state.steer._replace(**changes))


def _bank(state: BenchState, order: orders.Bank) -> Done:
    if state.steer.on_ground:
        raise InputError("bank", "the aircraft is on the ground", "turn by rate or heading there")
    words = f"bank {orders.side(order.to_deg)}" if order.to_deg else "wings level"
    return _steered(state, turning=BANK, turn_to=order.to_deg * DEG, roll_rad=0.0), words


def _rate(state: BenchState, order: orders.Rate) -> Done:
    turned = _steered(state, turning=RATE, turn_to=order.to_deg_s * DEG, roll_rad=0.0)
    return turned, f"turn {orders.side(order.to_deg_s)} a second" if order.to_deg_s else "turn stopped"


def _heading(state: BenchState, order: orders.Heading_) -> Done:
    bank_deg = order.bank_deg
    if bank_deg is None:
        rate_one = bank_for_rate_rad(RATE_ONE_RAD_S, max(state.steered.airspeed_mps, 1.0)) / DEG
        bank_deg = min(rate_one, GREATEST_HEADING_BANK_DEG)
    return _steered(
        state,
        turning=HEADING,
        turn_to=order.to_deg * DEG,
        heading_bank_rad=max(bank_deg, 1.0) * DEG,
        roll_rad=0.0,
    ), f"turn to {rose_deg(order.to_deg):03.0f} true"


def _pitch(state: BenchState, order: orders.Pitch) -> Done:
    words = f"pitch {order.to_deg:+g} deg" if order.to_deg else "pitch as the path"
    return _steered(state, pitch_rad=order.to_deg * DEG), words


def _roll(state: BenchState, order: orders.Roll) -> Done:
    rolled = _steered(state, turning=BANK, turn_to=0.0, roll_rad=order.to_deg * DEG)
    return rolled, f"roll {orders.side(order.to_deg)}, not turning" if order.to_deg else "roll removed"


def _climb(state: BenchState, order: orders.Climb) -> Done:
    words = f"climb {order.to_fpm:+g} ft/min" if order.to_fpm else "level"
    return _steered(state, climb_mps=order.to_fpm * FPM_MPS), words


def _speed(state: BenchState, order: orders.Speed) -> Done:
    speed_mps = order.to_kt * KT_MPS
    changed = _steered(state, airspeed_mps=speed_mps, speed_mps2=order.at_g * STANDARD_GRAVITY_MPS2)
    flying_mps = state.flying_mps if state.steer.on_ground else speed_mps
    return replace(changed, flying_mps=flying_mps), f"speed to {order.to_kt:g} kt at {order.at_g:g} g"


def _place(state: BenchState, order: orders.Place) -> Done:
    latitude, longitude = order.latitude_deg * DEG, order.longitude_deg * DEG
    north, east = "N" if order.latitude_deg >= 0.0 else "S", "E" if order.longitude_deg >= 0.0 else "W"
    words = f"moved to {abs(order.latitude_deg):g} {north}, {abs(order.longitude_deg):g} {east}"
    return moved(state, latitude, longitude), words


def _taxi(state: BenchState, order: orders.Taxi) -> Done:
    if not order.on:
        return _steered(
            state,
            on_ground=0.0,
            airspeed_mps=state.flying_mps,
            speed_mps2=BRAKING_G * STANDARD_GRAVITY_MPS2,
            turning=HEADING,
            turn_to=state.steered.heading_rad,
        ), "in the air"
    return _steered(
        state,
        on_ground=1.0,
        airspeed_mps=TAXI_KT * KT_MPS,
        speed_mps2=BRAKING_G * STANDARD_GRAVITY_MPS2,
        turning=RATE,
        turn_to=0.0,
        roll_rad=0.0,
        pitch_rad=0.0,
        climb_mps=0.0,
    ), "taxiing"


def _rough(state: BenchState, order: orders.Rough) -> Done:
    words = "smooth air" if order.level == "off" else f"{order.level} rough air"
    return _steered(state, bank_sd_rad=LEVEL_BANK_SD_DEG[order.level] * DEG), words


def _fault(state: BenchState, order: orders.Fault) -> Done:
    number = 1 if order.second else 0
    if number >= len(state.carried):
        raise InputError("fault, second", "there is only one aircraft here", "leave out 'second'")
    entry = state.carried[number]
    faults = {name: with_fault(own, order.name, order.size) for name, own in entry.faults.items()}
    carried = (*state.carried[:number], replace(entry, faults=faults), *state.carried[number + 1 :])
    whose = " on the second" if order.second else ""
    words = f"fault {order.name}={order.size:g}" if order.size else f"{order.name} ended"
    return replace(state, carried=carried), words + whose


def _engine(state: BenchState, order: orders.Engine) -> Done:
    return _steered(state, engine_rpm=order.rpm), f"engine {order.rpm:g} rpm" if order.rpm else "engine off"


def _with_ghost(state: BenchState, entry: Carried, id: str) -> Carried:
    laws, truth = flown_idea(id).laws, entry.truth
    fitted = instruments()
    held = {
        name: fitted[name].believed(
            state,
            entry,
            own,
            laws,
        )
        for name, own in truth.held.items()
    }
    return replace(entry, believers=(*entry.believers, Believer(id, laws, held)))


def _ghost(state: BenchState, order: orders.Ghost) -> Done:
    others = [believer.id for believer in state.carried[0].believers[1:] if believer.id != order.id]
    if order.on and len(others) >= GREATEST_GHOSTS:
        raise InputError("ghost", f"{len(others)} ghosts are shown", "remove one first")
    carried = tuple(
        replace(entry, believers=tuple(b for b in entry.believers if b.id != order.id))
        for entry in state.carried
    )
    state = replace(state, carried=carried)
    statement = flown_idea(order.id).statement
    if not order.on:
        return state, f"ghost gone: {statement}"
    carried = tuple(_with_ghost(state, entry, order.id) for entry in state.carried)
    return replace(state, carried=carried), f"ghost: {statement}"


def _refitted(aircraft: Aircraft, order: orders.Refit) -> Aircraft:
    for name, each in instruments().items():
        keys = {
            key: new
            for field, (_, changes) in each.instrument.refit.items()
            if getattr(order, field, UNSET) is not UNSET
            for key, new in changes(getattr(order, field)).items()
        }
        if keys:
            table = msgspec.structs.replace(getattr(aircraft, name), **keys)
            aircraft = msgspec.structs.replace(aircraft, **{name: table})
    return aircraft


def _refit(state: BenchState, order: orders.Refit) -> Done:
    first = state.carried[0]
    fitted = carry_instruments(state, _refitted(first.aircraft, order), first.faults, first.seed)
    state = reset_instruments(replace(state, carried=(fitted, *state.carried[1:])))
    for ghost in first.believers[1:]:
        state = replace(
            state,
            carried=(
                _with_ghost(
                    state,
                    state.carried[0],
                    ghost.id,
                ),
                *state.carried[1:],
            ),
        )
    return state, "other instruments, set correctly"


_DO: dict[type[Any], Callable[[BenchState, Any], Done]] = {
    orders.Bank: _bank,
    orders.Rate: _rate,
    orders.Heading_: _heading,
    orders.Pitch: _pitch,
    orders.Roll: _roll,
    orders.Climb: _climb,
    orders.Speed: _speed,
    orders.Place: _place,
    orders.Taxi: _taxi,
    orders.Rough: _rough,
    orders.Fault: _fault,
    orders.Engine: _engine,
    orders.Ghost: _ghost,
}


def obey(state: BenchState, order: orders.Order) -> Done:
    """The bench after an order, and its effect in words.

    Raises:
        InputError: when it cannot be done now.
    """
    if isinstance(order, orders.Refit):
        return _refit(state, order)
    by_hand = {kind: effect for each in instruments().values() for kind, effect in each.orders.items()}
    return (_DO | by_hand)[type(order)](state, order)


def moved(state: BenchState, latitude_rad: float, longitude_rad: float) -> BenchState:
    """The bench at another place: Earth, field and variation are those of there, from this step on."""
    samples = state.samples.copy()
    samples["latitude_rad"][1:], samples["longitude_rad"][1:] = latitude_rad, longitude_rad
    before = 0 if state.step else 1
    put_derived(samples, 1, before, 2, (2 - before) * STEP_S)
    steered = placed(state.steered, latitude_rad, longitude_rad)
    near = field_here(latitude_rad, longitude_rad, steered.altitude_m, state.decimal_year)
    field, variation = np.zeros(2, dtype=FIELD_SAMPLE), np.full(2, state.variation_rad)
    put_field(near, state.step - 1, samples[[1, 1]], field, variation)
    here = replace(
        state,
        steered=steered,
        samples=samples,
        near=near,
        field=field[1:].copy(),
        variation_rad=float(variation[1]),
    )
    return replace(here, carried=tuple(_carried_there(here, entry) for entry in state.carried))


def _carried_there(state: BenchState, entry: Carried) -> Carried:
    """Instruments that have not moved, but whose errors may have changed."""
    fitted = instruments()
    believers = tuple(
        replace(
            believer,
            held={
                name: fitted[name].again(state, entry, own, believer.laws)
                for name, own in believer.held.items()
            },
        )
        for believer in entry.believers
    )
    return replace(entry, believers=believers)
