"""What the instruments of a panel run on, what is left when a source fails, and the suction of a venturi.

Common practice, no source, where nothing else is said: which source drives which instrument differs from
aircraft to aircraft, so it is declared for each panel.
"""

from collections.abc import Mapping
from typing import NamedTuple

ATTITUDE, HEADING, TURN, COMPASS = "attitude", "heading", "turn", "compass"
GYROS = (ATTITUDE, HEADING, TURN)
INSTRUMENTS = (*GYROS, COMPASS)
BUS, SUCTION = "bus", "suction"


class SupplyLaws(NamedTuple):
    """What drives what; the defaults are the truth, and each wrong idea changes one of them.

    Attributes:
        gyros_on_suction: 1: every gyro runs on suction, whatever is declared.
        gyros_on_bus: 1: every gyro runs on electricity, whatever is declared.
        heading_on_suction: 1: the heading indicator runs on suction, whatever is declared.
        pumps_on_bus: 1: the pumps need the electrical bus too.
        panel_on_bus: 1: every instrument needs the bus, the compass too.
        pumps_apart: 1: each of two pumps drives its own share of the instruments.
        pumps_together: 1: suction needs every pump.
        electric_wander: apparent wander of an electric gyro as a share of that of any other gyro.
        flag_means_speed: 1: an electric gyro is up to speed as soon as its flag is out of sight.
        venturi_power: power of the airspeed with which the suction of a venturi grows.
        venturi_from_rated: 1: below the speed at which it is rated a venturi gives no suction.
        venturi_by_engine: 1: the engine produces the suction of a venturi, whatever the airspeed.
        venturi_never_ices: 1: ice cannot close a venturi.
        ice_stops_pumps: 1: ice on the outside stops an engine-driven pump.
    """

    gyros_on_suction: float = 0.0
    gyros_on_bus: float = 0.0
    heading_on_suction: float = 0.0
    pumps_on_bus: float = 0.0
    panel_on_bus: float = 0.0
    pumps_apart: float = 0.0
    pumps_together: float = 0.0
    electric_wander: float = 1.0
    flag_means_speed: float = 0.0
    venturi_power: float = 2.0
    venturi_from_rated: float = 0.0
    venturi_by_engine: float = 0.0
    venturi_never_ices: float = 0.0
    ice_stops_pumps: float = 0.0


TRUE_SUPPLY = SupplyLaws()


class Plumbing(NamedTuple):
    """What a panel runs on.

    Attributes:
        drives: `SUCTION` or `BUS` for each gyro.
        pumps: how many engine-driven pumps draw on the one manifold.
    """

    drives: Mapping[str, str]
    pumps: int = 1

    def on(self, source: str) -> tuple[str, ...]:
        """The gyros that a source drives, in the order of the panel."""
        return tuple(gyro for gyro in GYROS if self.drives[gyro] == source)


def pump_names(plumbing: Plumbing) -> tuple[str, ...]:
    """The pumps: 'pump 1', 'pump 2'."""
    return tuple(f"pump {number}" for number in range(1, plumbing.pumps + 1))


# Each instrument runs while one of its ways is whole: a way is a set of parts that all have to work.
Ways = dict[str, tuple[frozenset[str], ...]]


def ways(plumbing: Plumbing, laws: SupplyLaws = TRUE_SUPPLY) -> Ways:
    """What each instrument needs, under these laws."""
    pumps = pump_names(plumbing)
    moved = [frozenset({pump}) for pump in pumps]
    if laws.pumps_together:
        moved = [frozenset(pumps)]
    if laws.pumps_on_bus:
        moved = [way | {BUS} for way in moved]
    found: Ways = {COMPASS: (frozenset(),)}
    sucked = [gyro for gyro in GYROS if _believed_drive(plumbing, gyro, laws) == SUCTION]
    for gyro in GYROS:
        if gyro not in sucked:
            found[gyro] = (frozenset({BUS}),)
        elif laws.pumps_apart:
            share = sucked.index(gyro) * len(pumps) // len(sucked)
            found[gyro] = (frozenset({pumps[share]}),)
        else:
            found[gyro] = tuple(moved)
    if laws.panel_on_bus:
        found = {name: tuple(way | {BUS} for way in every) for name, every in found.items()}
    return found


def _believed_drive(plumbing: Plumbing, gyro: str, laws: SupplyLaws) -> str:
    if laws.gyros_on_suction or (laws.heading_on_suction and gyro == HEADING):
        return SUCTION
    return BUS if laws.gyros_on_bus else plumbing.drives[gyro]


def running(plumbing: Plumbing, failed: str, laws: SupplyLaws = TRUE_SUPPLY) -> frozenset[str]:
    """The instruments that still have their drive when one part has failed."""
    every = ways(plumbing, laws)
    return frozenset(name for name in INSTRUMENTS if any(failed not in way for way in every[name]))


def venturi_inhg(
    rated_inhg: float, rated_kt: float, airspeed_kt: float, laws: SupplyLaws = TRUE_SUPPLY
) -> float:
    """The suction of a venturi: in proportion to the dynamic pressure (Bernoulli's theorem).

    Args:
        rated_inhg: at the rated speed; nothing regulates it.
        rated_kt: indicated airspeed.
        airspeed_kt: indicated airspeed.
        laws: the truth, or a student's.
    """
    if laws.venturi_by_engine:
        return rated_inhg
    if laws.venturi_from_rated and airspeed_kt < rated_kt:
        return 0.0
    return float(rated_inhg * (airspeed_kt / rated_kt) ** laws.venturi_power)
