"""A flight on the bench as a scene: what it started from, and every order with its time."""

from collections.abc import Iterable
from typing import Any

import msgspec

from lubberline.errors import FieldError, InputError
from lubberline.flight.motion import STEP_S
from lubberline.simulation.bench import Bench, Taped
from lubberline.simulation.live.orders import NOTHING, Pause
from lubberline.simulation.live.scene import GREATEST_EVENTS, Camera, scene_of
from lubberline.simulation.live.state import Start
from lubberline.textfile import as_toml

Fields = dict[str, Any]
# How a kept scene begins: what is left to do by hand.
HEAD = """\
# Kept from the bench. Write what the class is to see:
#   aim, watch, ask   what it should understand, what to watch for, and the question before it starts
#   caption           beside an event: what is shown from its time on
#   [[camera]]        the view from at_s on
#   [[claim]]         at_s, name, low, high: a number that a text states, and where it must lie
"""


def kept_toml(
    bench: Bench,
    id: str,
    title: str,
    paces: Iterable[tuple[int, float]] = (),
    camera: Fields | None = None,
) -> str:
    """What a bench has flown so far, as the text of a scene file that flies the same again.

    Args:
        bench: as it stands.
        id: of the scene.
        title: of the scene.
        paces: step and factor of each change of pace by hand.
        camera: the view from the start on; that of the bench's own scene when not given.

    Raises:
        InputError: too many orders, or so long a flight that the first of them are forgotten; a wrong title
            or view.
    """
    entry = bench.scene.entry
    tape = bench.played()
    events = [_event(taped) for taped in tape]
    events += [_timed(step, {"do": "pace", "factor": factor}) for step, factor in paces]
    now = bench.state.step
    if now and not any(isinstance(taped.order, Pause) and taped.step == now for taped in tape):
        events.append(_timed(bench.state.step, {"do": "pause", "on": True}))
    if len(events) > GREATEST_EVENTS:
        wrong = f"{len(events)} orders were given"
        raise InputError("scene, event", wrong, f"keep a flight of at most {GREATEST_EVENTS}; start again")
    views = [view for view in entry.camera if view.at_s <= bench.time_s and not (camera and view.at_s == 0.0)]
    fields: Fields = {
        "id": id,
        "title": title,
        "aim": entry.aim,
        "watch": entry.watch,
        "ask": entry.ask,
        **({"dial": entry.dial} if entry.dial != "heading" else {}),
        **({"from_s": entry.from_s} if entry.from_s else {}),
        **({"length_s": round(bench.time_s, 3)} if now else {}),
        "start": _unusual(entry.start, Start()),
        "aircraft": _without_timed_faults(entry.aircraft),
        "second": entry.second and {"aircraft": _without_timed_faults(entry.second.aircraft) or {}},
        "event": sorted(events, key=lambda event: event["at_s"]),
        "camera": [*([camera] if camera else []), *(_unusual(view, Camera()) for view in views)],
    }
    fields = {name: value for name, value in fields.items() if value is not None}
    _check(fields)
    return HEAD + as_toml(fields)


def _check(fields: Fields) -> None:
    """Whether a scene can be read from the fields.

    Raises:
        InputError: the title or the view is not right.
    """
    try:
        scene_of("scene", fields)
    except FieldError as error:
        raise InputError(error.where, error.wrong, error.right) from None


def _timed(step: int, order: Fields, caption: str = "") -> Fields:
    given = {name: NOTHING if value is None else value for name, value in order.items()}
    at_s = round(step * STEP_S, 3)
    return {"at_s": at_s, "do": given, "caption": caption} if order else {"at_s": at_s, "caption": caption}


def _event(taped: Taped) -> Fields:
    if taped.order is None:
        return _timed(taped.step, {}, taped.caption)
    order = msgspec.to_builtins(taped.order)
    usual = {entry.encode_name: entry.default for entry in msgspec.structs.fields(taped.order)}
    given = {name: value for name, value in order.items() if name == "do" or value != usual[name]}
    return _timed(taped.step, given, taped.caption)


def _unusual(given: msgspec.Struct, usual: msgspec.Struct) -> Fields:
    """The fields of a record that are not as usual."""
    plain, other = msgspec.structs.asdict(given), msgspec.structs.asdict(usual)
    return {name: value for name, value in plain.items() if value != other[name]}


def _without_timed_faults(aircraft: Fields | None) -> Fields | None:
    """An aircraft's fields without the faults that begin in flight: they are on the tape."""
    if aircraft is None:
        return None
    faults = [fault for fault in aircraft.get("fault", []) if not fault.get("at_min")]
    rest = {name: value for name, value in aircraft.items() if name != "fault"}
    return {**rest, **({"fault": faults} if faults else {})} or None
