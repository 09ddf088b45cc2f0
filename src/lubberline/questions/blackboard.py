"""Blackboard calculations under any laws: the results of the truth and of each wrong idea, in closed form.

These are the forms that are taught (15 deg an hour, 60 NM a degree, the static compass). The engine, with the
sidereal rate, WGS 84 and the moving card, confirms them.
"""

import math
from collections.abc import Callable, Iterable

from lubberline.instruments.heading_indicator.gyro import GyroLaws
from lubberline.instruments.instrument import Physics
from lubberline.questions.belief import Belief
from lubberline.questions.model import Wrong
from lubberline.units import DEG

TAUGHT_EARTH_DEG_H = 15.0
NM_PER_DEG = 60.0


# The heading indicator's, used in most calculations.
GYRO = GyroLaws()


def laws_of(idea: str, physics: Physics = GYRO) -> Physics:  # type: ignore[assignment]
    """An instrument's laws as a student with this idea believes them; physics for '' and other ideas."""
    return Belief(idea).laws(physics)


def earth_deg_h(latitude_deg: float, laws: GyroLaws = GYRO) -> float:
    """Apparent wander of the card at a latitude, positive rising, deg/h: -15 sin(latitude)."""
    latitude = (abs(latitude_deg) if laws.earth_both_hemispheres else latitude_deg) * DEG
    share = laws.earth_sine * math.sin(latitude) + laws.earth_linear * latitude / (0.5 * math.pi)
    share += _side(latitude) * (laws.earth_cosine * math.cos(latitude) + laws.earth_constant)
    return -TAUGHT_EARTH_DEG_H * share


def _side(latitude_deg: float) -> float:
    """The side of the equator, which an idea about how much does not change."""
    return math.copysign(1.0, latitude_deg)


def travel_deg_h(latitude_deg: float, east_kt: float, laws: GyroLaws = GYRO) -> float:
    """Transport wander of the card, positive rising, deg/h: -(east kt / 60) tan(latitude)."""
    crowding = laws.travel * math.tan(latitude_deg * DEG) + _side(latitude_deg) * laws.travel_flat
    return -east_kt / NM_PER_DEG * crowding


def balance_deg_h(
    latitude_deg: float, set_deg: float | None, east_kt: float, share: float, laws: GyroLaws = GYRO
) -> float:
    """The effect of a latitude nut set for a latitude, positive rising, at a share of full rotor speed."""
    if set_deg is None:
        return 0.0
    place_deg = latitude_deg if laws.balance_everywhere else set_deg
    found = TAUGHT_EARTH_DEG_H * math.sin(place_deg * DEG)
    if laws.balance_cancels_travel:
        found -= travel_deg_h(latitude_deg, east_kt)
    return found * (1.0 if laws.balance_at_any_speed else _slowness(share, laws))


def _slowness(share: float, laws: GyroLaws) -> float:
    slowness: float = (1.0 / share) ** laws.slow_rotor_power
    return slowness


def wander_deg_h(
    latitude_deg: float,
    east_kt: float = 0.0,
    *,
    set_deg: float | None = None,
    real_deg_h: float = 0.0,
    share: float = 1.0,
    laws: GyroLaws = GYRO,
) -> float:
    """The total wander of a card, positive rising.

    Args:
        latitude_deg: north positive.
        east_kt: ground speed to the east; west negative.
        set_deg: latitude for which the nut is set; None without a nut.
        real_deg_h: real wander at full rotor speed.
        share: rotor speed as a share of full speed.
        laws: physics, or a wrong idea's.
    """
    own_deg_h = -abs(real_deg_h) if laws.real_wander_falls else real_deg_h
    real = laws.real_wander * own_deg_h * _slowness(share, laws)
    return (
        earth_deg_h(latitude_deg, laws)
        + travel_deg_h(latitude_deg, east_kt, laws)
        + balance_deg_h(latitude_deg, set_deg, east_kt, share, laws)
        + real
    )


def under(
    ideas: Iterable[str],
    sum_of: Callable[[Physics], float],
    physics: Physics = GYRO,  # type: ignore[assignment]
) -> tuple[Wrong, ...]:
    """The result of a calculation under each idea's laws; infinite results are left out."""
    found = ((idea, sum_of(laws_of(idea, physics))) for idea in ideas)
    return tuple(Wrong(idea, value) for idea, value in found if math.isfinite(value))
