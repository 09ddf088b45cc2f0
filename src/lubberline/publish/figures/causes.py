"""Each cause of the error: words, formula with a moment's numbers, source, and look.

`numbers` has places `{path:decimals}` (`{path:+decimals}`: with its sign), filled with a moment's values
of the live bench; nothing is computed there.
"""

from collections.abc import Iterable
from typing import NamedTuple

from lubberline.simulation.flown import cause_name


class CauseText(NamedTuple):
    """The account of one cause.

    Attributes:
        what: description in a sentence or two.
        formula: its law in symbols.
        numbers: the same with places for the numbers of a moment.
        rate: its rate from the engine, a name of a frame's `rates`; '' for none.
        source: of the law.
        why: what happened, as a sentence to say.
    """

    what: str
    formula: str
    numbers: str
    rate: str
    source: str
    why: str


WANDER_SOURCE = (
    "Any text on gyroscopic theory for pilots; "
    "the Earth's rate 7.292115e-5 rad/s is that of WGS 84 (NGA.STND.0036)"
)
GIMBAL_SOURCE = "US patent 3,870,940: gimbal error of a directional gyro by bank, pitch and spin axis"
COMPASS_SOURCE = "Williams, Compass Errors (2001), equations 2 to 4"

CAUSE_TEXTS: dict[str, CauseText] = {
    "earth": CauseText(
        "Apparent wander. The gyro keeps its direction in space while the Earth turns under it. Only the "
        "rotation about the vertical moves the card: none at the equator, all of it at the poles, and in "
        "the opposite direction in the southern hemisphere.",
        "−15.041°/h × sin(latitude)",
        "−15.041 × sin({truth.latitude_deg:+1}°) °/h",
        "earth_deg_h",
        WANDER_SOURCE,
        "The Earth has turned under the gyro, which keeps its direction in space.",
    ),
    "travel": CauseText(
        "Transport wander. The direction of true north in space differs with longitude, so flying east or "
        "west turns north under the gyro. Flying east adds to apparent wander, flying west reduces it.",
        "−(speed east ÷ Earth's radius) × tan(latitude)",
        "−({truth.groundspeed_kt:0} kt × sin({truth.track_deg:0}°) ÷ R) × tan({truth.latitude_deg:+1}°)",
        "travel_deg_h",
        "Groundspeed east × tan(latitude) ÷ R: any text on gyroscopic theory for pilots",
        "The flight east or west has turned north under the gyro.",
    ),
    "friction": CauseText(
        "Real wander. Friction in the gimbal bearings and a small imbalance make the axis precess; so does a "
        "finger on the card. The same torque moves a slow rotor more.",
        "torque about the inner gimbal's axis ÷ (rotor's inertia × its speed)",
        "torque about the inner gimbal's axis {gyro.torque_inner_nm:e} N m, rotor at {shown.rotor_rpm:0} rpm",
        "friction_deg_h",
        "The law of precession, rate = torque ÷ momentum: any text on gyroscopes. About 3° in 15 min as the "
        "usual allowance: common practice, no source",
        "Friction and imbalance have made the rotor's axis precess.",
    ),
    "balance": CauseText(
        "Latitude nut. A small fixed weight makes the gyro precess at the rate that cancels apparent "
        "wander at one latitude and full rotor speed. At other latitudes the correction is wrong; in the "
        "other hemisphere it adds to the drift.",
        "+15.041°/h × sin(latitude it was set for) × (full rotor speed ÷ speed now)",
        "rotor at {shown.rotor_rpm:0} rpm, load {truth.load_g:2} g",
        "balance_deg_h",
        WANDER_SOURCE,
        "The latitude nut makes the gyro precess at a rate that is right at one latitude only.",
    ),
    "levelling": CauseText(
        "The air jets push the inner gimbal (housing) back until the spin axis is at right angles to the "
        "outer gimbal's axis. In a turn that plane is not level, so a long turn leaves a small error.",
        "torque of the jets × sin(tilt) ÷ (momentum × cos(tilt))",
        "tilt {gyro.tilt_deg:+1}°, bank {truth.bank_deg:+1}°, rotor at {shown.rotor_rpm:0} rpm",
        "levelling_deg_h",
        "Common practice, no source; the precession is that of any text on gyroscopes",
        "The jets have levelled the gyro to a plane that was not level.",
    ),
    "geometry": CauseText(
        "Gimballing error. Two gimbals act like a universal joint: in bank or pitch the card departs from "
        "the true heading, and it recovers when the wings are level. It depends on where the spin axis "
        "points.",
        "tan(card) = cos(bank) × tan(heading), both from the spin axis",
        "bank {truth.bank_deg:+1}°, pitch {truth.pitch_deg:+1}°, axis {gyro.outer_deg:+1}° from the nose",
        "",
        GIMBAL_SOURCE,
        "In bank or pitch the two gimbals act like a universal joint.",
    ),
    "tumble": CauseText(
        "The inner gimbal (housing) has reached its stop. Then the gyro precesses about the outer axis and "
        "the card spins. Its final reading cannot be predicted; it must erect and be set again.",
        "on the stop, at about 85° of tilt, the aircraft's rotation becomes a torque",
        "tilt {gyro.tilt_deg:+1}°, pitch {truth.pitch_deg:+1}°, bank {truth.bank_deg:+1}°",
        "",
        "The limits of free gimbals: common practice, no source; the motion is that of a rigid body",
        "The inner gimbal reached its stop, and the gyro tumbled.",
    ),
    "variation_change": CauseText(
        "The instrument was set to magnetic north where the variation was different. Since then, the "
        "direction of magnetic north has changed.",
        "variation now − variation when it was set",
        "variation now {truth.variation_deg:+1}° (east +)",
        "",
        "World Magnetic Model, NOAA/NCEI: the model is named at the top of a flight's page",
        "The variation here differs from the variation where it was set.",
    ),
    "set_deviation": CauseText(
        "It was set from the compass while the compass was deflected by the aircraft's own iron and "
        "currents.",
        "A + B sin h + C cos h + D sin 2h + E cos 2h, at the moment it was set",
        "compass now {shown.compass_deg:0}°, its error now {shown.compass_error_deg:+1}°",
        "",
        "Coefficients A to E of deviation: any text on compass adjustment",
        "It was set from a compass deflected by the aircraft's own iron and currents.",
    ),
    "set_turning": CauseText(
        "It was set from the compass in a turn, or too soon after one. In the turn the compass card follows "
        "the apparent vertical, and the dip of the field turns it.",
        "tan(error on north or south) = tan(dip) × sin(bank), at the moment it was set",
        "dip {truth.dip_deg:+1}°, bank now {truth.bank_deg:+1}°",
        "",
        COMPASS_SOURCE,
        "It was set from the compass in a turn, or too soon after one.",
    ),
    "set_acceleration": CauseText(
        "It was set from the compass while the aircraft changed speed on an easterly or westerly heading, "
        "which tilts the compass card as a bank does.",
        "tan(error on east or west) = tan(dip) × acceleration ÷ g, at the moment it was set",
        "dip {truth.dip_deg:+1}°",
        "",
        COMPASS_SOURCE,
        "It was set from the compass while the aircraft changed speed.",
    ),
    "set_misreading": CauseText(
        "The heading set differs from the compass or the runway: it was misread, or the knob was turned.",
        "heading set − heading read",
        "indicated now {shown.indicated_deg:0}°",
        "",
        "Common practice, no source",
        "It was misread when it was set, or the knob was turned.",
    ),
}


class Look(NamedTuple):
    """Fill and ink as hex colours, and the name of a pattern in `PATTERNS`."""

    fill: str
    ink: str
    pattern: str


# Paths drawn in the ink on an 8 x 8 tile.
PATTERNS = {
    "plain": "",
    "rising": "M-2 2L2 -2M0 8L8 0M6 10L10 6",
    "falling": "M-2 6L2 10M0 0L8 8M6 -2L10 2",
    "level": "M0 2H8M0 6H8",
    "upright": "M2 0V8M6 0V8",
    "dots": "M1.2 2H2.8M5.2 6H6.8",
    "cross": "M0 0L8 8M8 0L0 8",
    "grid": "M0 4H8M4 0V8",
    "dashes": "M0 2H5M4 6H8M0 6H1",
}

LOOKS = {
    "earth": Look("#7ea6c4", "#24506f", "plain"),
    "travel": Look("#c6dce8", "#2f6285", "rising"),
    "friction": Look("#dfa04d", "#6e4308", "dots"),
    "balance": Look("#6d9f87", "#1e4f39", "level"),
    "levelling": Look("#cfe3c4", "#3f6b2c", "falling"),
    "geometry": Look("#f3e2a4", "#7a6313", "upright"),
    "variation_change": Look("#b9a3cf", "#4d3470", "dashes"),
    "set_deviation": Look("#8d8f92", "#33332f", "plain"),
    "set_turning": Look("#ced6da", "#55503f", "grid"),
    "set_acceleration": Look("#a59a86", "#463f2e", "rising"),
    "set_misreading": Look("#ddd2b8", "#5c574a", "dots"),
    "tumble": Look("#b0605c", "#4e1512", "cross"),
    "rest": Look("#f8f8f7", "#77756c", "dashes"),
}
UNKNOWN = Look("#e4e4e4", "#444444", "grid")


def look_of(cause: str) -> Look:
    """The look of a cause, by ledger column or its stem."""
    return LOOKS.get(cause.removesuffix("_deg"), UNKNOWN)


def named_look(cause: str) -> dict[str, str]:
    """A ledger column's cause with its name and look, for a page that draws it itself."""
    look = look_of(cause)
    return {
        "name": cause_name(cause),
        "fill": look.fill,
        "ink": look.ink,
        "pattern": PATTERNS[look.pattern],
    }


def fills(prefix: str, cause: str) -> tuple[str, ...]:
    """The fills of a cause's shape, in order: its colour, then its pattern if any.

    The colour is not part of the pattern, as seams between its tiles would show in print.
    """
    look = look_of(cause)
    if not PATTERNS[look.pattern]:
        return (look.fill,)
    return look.fill, f"url(#{prefix}-{cause.removesuffix('_deg')})"


def pattern_definitions(prefix: str, causes: Iterable[str]) -> str:
    """SVG `<pattern>` elements for the causes, with ids starting with `prefix`."""
    looks = {cause.removesuffix("_deg"): look_of(cause) for cause in causes}
    return "".join(
        f'<pattern id="{prefix}-{cause}" width="8" height="8" patternUnits="userSpaceOnUse">'
        f'<path d="{PATTERNS[look.pattern]}" stroke="{look.ink}" stroke-width="1" opacity=".75"/></pattern>'
        for cause, look in looks.items()
        if PATTERNS[look.pattern]
    )
