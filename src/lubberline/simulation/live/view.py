"""The bench as a frame: plain numbers for a page, by the names of `docs/developers/live.md`."""

import math
from typing import Any

from lubberline.angles import rose_deg, wrapped_deg
from lubberline.earth.magnetic import zone_of
from lubberline.flight.motion import STEP_S
from lubberline.instruments.faults import FAULTS
from lubberline.simulation.fitted import Frame, instruments
from lubberline.simulation.live.state import BenchState, Carried
from lubberline.units import DEG, FT_M, KT_MPS, STANDARD_GRAVITY_MPS2


def rounded(value: float, digits: int) -> float | None:
    """A number for a message; None if it is not finite, and never a negative zero."""
    return round(float(value), digits) + 0.0 if math.isfinite(value) else None


def shown_rose_deg(angle_rad: float) -> float:
    """A heading in 0 <= h < 360, for a message."""
    return rose_deg(round(angle_rad / DEG, 4)) + 0.0


def shown_signed_deg(angle_rad: float) -> float:
    """An angle in (-180, 180], for a message."""
    return round(wrapped_deg(angle_rad / DEG), 4) + 0.0


def _truth(state: BenchState) -> Frame:
    before, here, after = state.samples
    north, east = float(here["north_mps"]), float(here["east_mps"])
    heading = float(here["heading_rad"])
    field = state.field[0]
    horizontal = math.hypot(field["north_nt"], field["east_nt"])
    span_s = STEP_S * (2.0 if state.step else 1.0)
    return {
        "heading_deg": shown_rose_deg(heading),
        "magnetic_deg": shown_rose_deg(heading - state.variation_rad),
        "pitch_deg": rounded(here["pitch_rad"] / DEG, 3),
        "bank_deg": rounded(here["bank_rad"] / DEG, 3),
        "track_deg": shown_rose_deg(math.atan2(east, north)),
        "groundspeed_kt": rounded(math.hypot(north, east) / KT_MPS, 2),
        "airspeed_kt": rounded(here["airspeed_mps"] / KT_MPS, 2),
        "altitude_ft": rounded(here["altitude_m"] / FT_M, 1),
        "latitude_deg": rounded(here["latitude_rad"] / DEG, 5),
        "longitude_deg": shown_signed_deg(float(here["longitude_rad"])),
        "variation_deg": shown_signed_deg(state.variation_rad),
        "dip_deg": rounded(math.atan2(field["down_nt"], horizontal) / DEG, 2),
        "horizontal_nt": rounded(horizontal, 0),
        "zone": zone_of(horizontal),
        "turn_rate_deg_s": rounded((after["heading_rad"] - before["heading_rad"]) / span_s / DEG, 3),
        "load_g": rounded(-here["force_down_mps2"] / STANDARD_GRAVITY_MPS2, 3),
        "slip": 0,
    }


def _carried(state: BenchState, carried: Carried, finger_nm: float) -> Frame:
    fitted = instruments().values()
    frame: Frame = {"shown": {}, "ledgers": {}}
    for each in fitted:
        frame["shown"] |= each.shown(state, carried, carried.truth)
        more = each.inside(state, carried, finger_nm)
        frame["ledgers"] |= more.pop("ledgers", {})
        frame |= more
    frame["ghosts"] = [
        {"id": believer.id}
        | {key: value for each in fitted for key, value in each.ghost(state, carried, believer).items()}
        for believer in carried.believers[1:]
    ]
    if not frame["ledgers"]:
        del frame["ledgers"]
    return {**frame, "faults": fault_sizes(carried)}


def fault_sizes(carried: Carried) -> dict[str, float]:
    """What is wrong with an aircraft's instruments now: the size of each fault that there is."""
    sizes = {field: size for record in carried.faults.values() for field, size in record._asdict().items()}
    return {name: sizes[fault.field] for name, fault in FAULTS.items() if sizes.get(fault.field)}


def view(state: BenchState) -> Frame:
    """What a page shows of a bench at a step: all of a frame that is the engine's."""
    frame: Frame = {
        "time_s": round(state.time_s, 1),
        "truth": _truth(state),
        **_carried(state, state.carried[0], state.finger_nm),
        "reference": "true" if state.true_reference else "magnetic",
        "on_ground": state.steer.on_ground != 0.0,
    }
    if len(state.carried) > 1:
        frame["second"] = _carried(state, state.carried[1], 0.0)
    return frame


# Headings in 0 <= h < 360, and angles in (-180, 180]; other angles of a frame do not wrap.
ROSE = frozenset({"heading_deg", "magnetic_deg", "track_deg", "indicated_deg", "compass_deg", "knob_deg"})
SIGNED = frozenset(
    {"outer_deg", "error_deg", "compass_error_deg", "longitude_deg", "variation_deg", "bank_deg"}
)
DIGITS = 9


def _number(name: str, first: float, last: float, share: float) -> float:
    if name in ROSE or name in SIGNED:
        turned = round(first + share * wrapped_deg(last - first), 4)
        return rose_deg(turned) if name in ROSE else wrapped_deg(turned)
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
    if isinstance(last, dict) and isinstance(first, dict):
        return {key: between(first.get(key), value, share, key) for key, value in last.items()}
    if isinstance(last, list) and isinstance(first, list) and len(first) == len(last):
        return [between(before, after, share, name) for before, after in zip(first, last, strict=True)]
    if isinstance(last, float) and isinstance(first, float) and first != last:
        return _number(name, first, last, share)
    return last
