"""The flight so far, while its legs are flown one after another."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from lubberline.arrays import Floats
from lubberline.flight.legs.file import LegPosition
from lubberline.flight.legs.kinds import Head
from lubberline.flight.motion import STEP_S, FlightEvent
from lubberline.units import DEG, FT_M, KT_MPS

GREATEST_HOURS = 24
GREATEST_STEPS = round(GREATEST_HOURS * 3600 / STEP_S)

COLUMNS = (
    "heading_rad",
    "pitch_rad",
    "bank_rad",
    "airspeed_mps",
    "altitude_m",
    "climb_mps",
    "engine_rpm",
    "airborne",
    "bank_sd_rad",
    "leg",
)


@dataclass
class Logbook:
    """The flight so far: the state at its end, and the columns of every leg."""

    head: Head
    heading_deg: float
    airspeed_kt: float
    altitude_ft: float
    bank_sd_deg: float = 0.0
    steps: int = 0
    pieces: list[dict[str, Floats]] = field(default_factory=list)
    events: list[tuple[LegPosition, FlightEvent]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    engine_assumed: bool = False

    @classmethod
    def begin(cls, head: Head) -> Logbook:
        """The state before the first leg."""
        return cls(head, head.heading_deg, head.airspeed_kt, head.altitude_ft)

    def grounded(self, leg: Any) -> bool:
        """Whether a leg is on the ground: as it says, or else under the stall speed."""
        said: bool | None = getattr(leg, "on_ground", None)
        return self.airspeed_kt < self.head.stall_kt if said is None else said

    def room(self, place: LegPosition, steps: int) -> int:
        """The steps of a leg, refused when the flight would pass its greatest length."""
        if self.steps + steps > GREATEST_STEPS:
            raise place.error("", f"the flight passes {GREATEST_HOURS} h here", f"at most {GREATEST_HOURS} h")
        return max(steps, 1)

    def add(self, place: LegPosition, steps: int, rpm: float, grounded: bool, **changed: Floats) -> None:
        """Write a leg down: the columns it changes, each with steps + 1 values; the others are held."""
        held = {
            "heading_rad": self.heading_deg * DEG,
            "airspeed_mps": self.airspeed_kt * KT_MPS,
            "altitude_m": self.altitude_ft * FT_M,
            "engine_rpm": rpm,
            "airborne": 0.0 if grounded else 1.0,
            "bank_sd_rad": 0.0 if grounded else self.bank_sd_deg * DEG,
            "leg": float(place.number),
        }
        piece = {name: np.full(steps + 1, held.get(name, 0.0)) for name in COLUMNS} | changed
        first = 0 if not self.pieces else 1
        self.pieces.append({name: values[first:] for name, values in piece.items()})
        self.steps += steps

    def columns(self) -> dict[str, Floats]:
        """The whole flight, one value a step."""
        return {name: np.concatenate([piece[name] for piece in self.pieces]) for name in COLUMNS}
