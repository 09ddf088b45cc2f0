"""The magnetic compass: its card, its reading, its deviation."""

from typing import Annotated, Any

import msgspec

from lubberline.instruments.compass.card import Compass, CompassLaws, CompassState
from lubberline.instruments.compass.deviation import Coefficients
from lubberline.instruments.compass.reading import COMPASS_ROW, carry_compass, settle_compass
from lubberline.instruments.instrument import Instrument, Met, Rows

Deviation = Annotated[float, msgspec.Meta(ge=-45.0, le=45.0)]
COEFFICIENTS = tuple(f"deviation_{letter}_deg" for letter in "abcde")


class CompassEntry(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The compass's deviation coefficients, east positive, by compass heading."""

    deviation_a_deg: Deviation = 0.0
    deviation_b_deg: Deviation = 0.0
    deviation_c_deg: Deviation = 0.0
    deviation_d_deg: Deviation = 0.0
    deviation_e_deg: Deviation = 0.0


def coefficients_of(aircraft: Any) -> Coefficients:
    """The deviation coefficients that an aircraft's file states."""
    return Coefficients(*(getattr(aircraft.compass, name) for name in COEFFICIENTS))


def _settle(
    met: Met, compass: Compass, before: Any, faults: Any, laws: CompassLaws, rows: Rows
) -> CompassState:
    state = settle_compass(met.samples, met.field, 0, compass, laws)
    return _carry(state, met.part(0, 1), compass, faults, laws, rows[:1])


def _carry(
    state: CompassState, met: Met, compass: Compass, faults: Any, laws: CompassLaws, rows: Rows
) -> CompassState:
    return carry_compass(state, met.samples, met.field, compass, laws, rows)


COMPASS = Instrument(
    name="compass",
    table=CompassEntry,
    fit=lambda aircraft: Compass(**coefficients_of(aircraft)._asdict()),
    row=COMPASS_ROW,
    settle=_settle,
    carry=_carry,
    causes=("deviation_rad", "turning_rad", "acceleration_rad", "lag_rad"),
    laws=CompassLaws(),
    words={f"dev{name[10]}": name for name in COEFFICIENTS},
    refit={
        "deviation": (
            tuple[Deviation, Deviation, Deviation, Deviation, Deviation],
            lambda values: dict(zip(COEFFICIENTS, values, strict=True)),
        )
    },
)
