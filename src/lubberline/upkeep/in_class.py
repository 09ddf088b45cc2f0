"""An aircraft's estimated instrument in class: on the bench, as a scene, and as questions.

What the log says of an instrument becomes an aircraft file's numbers: its own wander at full rotor speed,
and the fault that fits best if one does. Nothing else of the log goes along.
"""

import math
from datetime import date
from typing import Any

import msgspec

from lubberline.instruments.faults import HEALTHY, with_fault
from lubberline.instruments.heading_indicator.gyro import wander
from lubberline.questions.bank import model_named
from lubberline.questions.generate import CannotDrawError, generate, item_of
from lubberline.questions.item import Item
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.fitted import Frame
from lubberline.simulation.live.address import address_of
from lubberline.simulation.scenes import number_in, run_scene, scene_from_text
from lubberline.simulation.symptoms import wander_factor
from lubberline.textfile import as_toml

LENGTH_S = 900.0
PACE = 20.0
# The quantities that questions may ask for each fault, by model.
QUANTITIES = {
    "pump": ("suction-gauge-with-fault", "gauge_idle_inhg"),
    "leak": ("suction-gauge-with-fault", "gauge_idle_inhg"),
    "regulator": ("suction-gauge-with-fault", "gauge_cruise_inhg"),
    "filter": ("suction-gauge-with-fault", "gauge_cruise_inhg"),
    "bearings": ("suction-run-down-with-fault", "run_down_min"),
}
CAUTION = (
    "For teaching only. The result of a log is an estimate; the aircraft's own handbook and a licensed "
    "maintenance engineer decide whether a real aircraft is airworthy."
)


class Estimated(msgspec.Struct, frozen=True):
    """An aircraft as its log describes it.

    Attributes:
        key: a short name for addresses and files.
        name: of the aircraft.
        aircraft: as its file says.
        latitude_deg: where it is mostly flown.
        longitude_deg: of its usual place.
        day: of the last entry.
        wander_deg_15min: real wander found, at cruise, positive: the reading increases.
        fault: the fault that fits best; '' when none does.
        size: of that fault.
    """

    key: str
    name: str
    aircraft: Aircraft
    latitude_deg: float
    longitude_deg: float
    day: date
    wander_deg_15min: float
    fault: str = ""
    size: float = 0.0


def full_speed_wander_deg_15min(estimated: Estimated) -> float:
    """The wander found at cruise as that of the same instrument, healthy, at 12,000 rpm.

    A slow or worn rotor makes more of it; the engine puts that on again when the fault is flown.
    """
    faults = with_fault(HEALTHY, estimated.fault, estimated.size) if estimated.fault else HEALTHY
    factor = wander_factor(estimated.aircraft, faults)
    return estimated.wander_deg_15min / factor if math.isfinite(factor) and factor > 0.0 else 0.0


def _instruments(estimated: Estimated) -> dict[str, Any]:
    """The aircraft's tables for a scene, as its log has it."""
    own = estimated.aircraft
    entry = own.heading_indicator
    indicator = {
        "setting": entry.setting,
        "real_wander_deg_15min": round(full_speed_wander_deg_15min(estimated), 2) + 0.0,
        "drive": entry.drive if entry.drive != "suction" else None,
        "balance_latitude_deg": entry.balance_latitude_deg,
    }
    fields: dict[str, Any] = {
        "heading_indicator": {name: value for name, value in indicator.items() if value is not None},
        "suction": {"gauge_tap": own.suction.gauge_tap, "regulator_inhg": own.suction.regulator_inhg},
        "compass": {name: value for name, value in msgspec.to_builtins(own.compass).items() if value},
        "fault": [{"name": estimated.fault, "size": estimated.size}] if estimated.fault else [],
    }
    return {name: value for name, value in fields.items() if value}


def _healthy(fields: dict[str, Any]) -> dict[str, Any]:
    """The same aircraft with a perfect instrument: what the Earth alone does to it."""
    indicator = {**fields["heading_indicator"], "real_wander_deg_15min": 0.0}
    return {
        **{name: value for name, value in fields.items() if name != "fault"},
        "heading_indicator": indicator,
    }


def _start(estimated: Estimated) -> dict[str, Any]:
    return {
        "latitude_deg": round(min(max(estimated.latitude_deg, -89.9), 89.9), 2),
        "longitude_deg": round(estimated.longitude_deg, 2),
        "heading_deg": 90.0,
        "utc": estimated.day,
    }


def bench_address(estimated: Estimated) -> str:
    """The address of a bench with this instrument, and a perfect one in the same aircraft."""
    fields = _instruments(estimated)
    state = address_of(
        {"start": _start(estimated), "aircraft": fields, "second": {"aircraft": _healthy(fields)}}
    )
    return f"/bench?bench=aircraft-{estimated.key.lower()}&state={state}"


def reads(error_deg: float) -> str:
    """An error in words: 'reads 3.2 degrees low'."""
    if abs(error_deg) < 0.05:
        return "reads right"
    return f"reads {abs(error_deg):.1f} degrees {'high' if error_deg > 0.0 else 'low'}"


def _words(estimated: Estimated) -> dict[str, Any]:
    side = "north" if estimated.latitude_deg >= 0.0 else "south"
    place = f"{abs(estimated.latitude_deg):.0f} {side}"
    wrong = f"; most likely fault: {estimated.fault}" if estimated.fault else ""
    return {
        "id": f"{estimated.key.lower().replace('-', '_')}_as_logged",
        "title": f"{estimated.name}: the Earth, or the instrument?",
        "aim": "A heading indicator drifts because of the Earth and because of its own faults. Only the "
        "drift that remains when the Earth is taken out tells something about the instrument.",
        "watch": "Two cards side by side: the instrument as its log describes it, and a perfect one in the "
        "same aircraft.",
        "ask": f"Both aircraft are flown east at {place}. After fifteen minutes, what will the two cards "
        "read, and how much of that is the instrument's fault?",
        "cautions": [CAUTION],
        "begin": f"{estimated.name} as its log describes it{wrong}. The second aircraft is the same with a "
        "perfect instrument. Fifteen minutes begin, time at x20.",
    }


def scene_toml(estimated: Estimated) -> str:
    """A lesson's scene as the text of its file; what its captions say is claimed and was run.

    Raises:
        InputError: an estimate that cannot be flown.
    """
    words = _words(estimated)
    begin = words.pop("begin")
    fields = _instruments(estimated)
    events: list[dict[str, Any]] = [
        {"at_s": 0.0, "do": {"do": "pace", "factor": PACE}, "caption": begin},
        {"at_s": LENGTH_S, "do": {"do": "pause", "on": True}},
    ]
    scene: dict[str, Any] = {
        **words,
        "length_s": LENGTH_S,
        "start": _start(estimated),
        "aircraft": fields,
        "second": {"aircraft": _healthy(fields)},
        "event": events,
    }
    # A scene reads its events from a table; what the captions say comes from a run of the scene itself.
    last = run_scene(scene_from_text(f"{words['id']}.toml", as_toml(scene)), LENGTH_S)[-1]
    scene["event"] = [events[0], {"at_s": LENGTH_S - 10.0, "caption": _outcome(last)}, events[1]]
    claimed = ("shown.error_deg", "second.shown.error_deg", "shown.gauge_inhg")
    scene["claim"] = [
        {"at_s": LENGTH_S, "name": name, "low": round(found - 0.15, 2), "high": round(found + 0.15, 2)}
        for name, found in ((name, number_in(last, name)) for name in claimed)
    ]
    return as_toml(scene)


def _outcome(last: Frame) -> str:
    own, perfect = (number_in(last, name) for name in ("shown.error_deg", "second.shown.error_deg"))
    return (
        f"After 15 minutes the card {reads(own)}, the perfect one {reads(perfect)}. The difference, "
        f"{abs(own - perfect):.1f} degrees, comes from the instrument."
    )


def questions_about(estimated: Estimated, seed: int = 1) -> tuple[Item, ...]:
    """Questions with this aircraft's numbers: the rest of a drift, its meaning, its gauge reading.

    The first two stand still at its usual latitude, for an instrument without a latitude nut. Where its
    numbers give no fair question (an estimate of next to nothing), the model draws its own.
    """
    earth = wander(estimated.latitude_deg).earth_deg_h / 4.0
    latitude = float(round(estimated.latitude_deg))
    observed = round(earth + estimated.wander_deg_15min, 1)
    asked: list[tuple[str, dict[str, Any]]] = [
        ("wander-rate", {"latitude_deg": latitude}),
        ("wander-real-left-over", {"latitude_deg": latitude, "observed_deg": observed}),
        ("wander-verdict", {"latitude_deg": latitude, "observed_deg": observed}),
    ]
    if estimated.fault in QUANTITIES:
        model, quantity = QUANTITIES[estimated.fault]
        tap = estimated.aircraft.suction.gauge_tap
        drawn = {"fault": estimated.fault, "size": estimated.size, "tap": tap, "quantity": quantity}
        asked.append((model, drawn))
    return tuple(_item(name, drawn, seed) for name, drawn in asked)


def _item(name: str, drawn: dict[str, Any], seed: int) -> Item:
    model = model_named(name)
    try:
        return item_of(model, drawn, seed)
    except CannotDrawError:
        return generate(model, seed)
