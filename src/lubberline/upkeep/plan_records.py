"""A plan for a flight's heading indicator, as plain values."""

import math

import msgspec

from lubberline.instruments.suction import suction_system_of
from lubberline.instruments.suction.rotor import Rotor
from lubberline.simulation.aircraft import Aircraft
from lubberline.simulation.symptoms import CRUISE_RPM, LIMIT_DRIFT_DEG_15MIN, symptoms
from lubberline.upkeep.records import Estimate

# A healthy instrument: either sign, this standard deviation (common practice, no source).
HEALTHY_SD_DEG_15MIN = 1.0


class OwnWander(msgspec.Struct, frozen=True):
    """What is believed of an instrument's own constant wander, at full rotor speed.

    Attributes:
        mean_deg_15min: positive: the card rises.
        sd_deg_15min: how unsure that is.
        source: in words.
    """

    mean_deg_15min: float
    sd_deg_15min: float
    source: str


HEALTHY = OwnWander(0.0, HEALTHY_SD_DEG_15MIN, "a healthy instrument, about which nothing else is known")


def own_wander_of(aircraft: Aircraft) -> OwnWander:
    """What an aircraft's file says of its own wander; a healthy instrument's where it says nothing."""
    entry = aircraft.heading_indicator
    if entry.real_wander_deg_15min == 0.0 and entry.real_wander_sd_deg_15min == 0.0:
        return HEALTHY
    if entry.real_wander_deg_15min == 0.0:
        return OwnWander(0.0, entry.real_wander_sd_deg_15min, "the aircraft's file")
    return OwnWander(entry.real_wander_deg_15min, entry.real_wander_sd_deg_15min, "the aircraft's file")


class PlannedLeg(msgspec.Struct, frozen=True):
    """A stretch of steady heading.

    Attributes:
        number: from 1.
        begin_min: when it begins.
        end_min: when it ends.
        true_deg: heading at its middle.
        magnetic_deg: the same.
        variation_deg: there, east positive.
        steer_deg: what the compass reads on that heading, by the aircraft's coefficients.
        latitude_deg: at its middle.
        drift_deg: expected change of the card's error along it, by cause and `total`.
        sd_deg: standard deviation of that, from what is not known of the instrument.
        horizontal_nt: weakest horizontal field along it.
        zone: '' | 'caution' | 'blackout', the worst along it.
        dip_deg: steepest dip along it, without sign.
    """

    number: int
    begin_min: float
    end_min: float
    true_deg: float
    magnetic_deg: float
    variation_deg: float
    steer_deg: float
    latitude_deg: float
    drift_deg: dict[str, float]
    sd_deg: float
    horizontal_nt: float
    zone: str
    dip_deg: float


class PlannedSetting(msgspec.Struct, frozen=True):
    """When to set it.

    Attributes:
        at_min: of the flight.
        leg: number of the stretch.
        expected_deg: error expected just before.
        sd_deg: its standard deviation.
        zone: of the field there; where it is not '', the compass is no sure source.
        kept: whether the limit holds until then.
    """

    at_min: float
    leg: int
    expected_deg: float
    sd_deg: float
    zone: str
    kept: bool


class Plan(msgspec.Struct, frozen=True):
    """A flight planned.

    Attributes:
        title: of the flight.
        aircraft: its name.
        start_utc: ISO 8601.
        duration_min: of the flight.
        limit_deg: to stay within, nineteen times in twenty.
        reference: 'magnetic' or 'true': what it is set to.
        wander: what was believed of the instrument.
        setting_sd_deg: standard deviation of an error at a setting.
        field_model: of the Earth's field.
        legs: in order.
        settings: in order, the first before the start.
        time_min: of the three lines below, in minutes.
        expected_deg: expected error when set as planned.
        low_deg: 19 times in 20 above this.
        high_deg: 19 times in 20 below this.
        notes: plain sentences that the reader has to know.
        about: how the flight itself was read.
    """

    title: str
    aircraft: str
    start_utc: str
    duration_min: float
    limit_deg: float
    reference: str
    wander: OwnWander
    setting_sd_deg: float
    field_model: str
    legs: tuple[PlannedLeg, ...]
    settings: tuple[PlannedSetting, ...]
    time_min: tuple[float, ...]
    expected_deg: tuple[float, ...]
    low_deg: tuple[float, ...]
    high_deg: tuple[float, ...]
    notes: tuple[str, ...]
    about: tuple[str, ...] = ()


TIMES_SD = 1.96


def own_wander_from(estimate: Estimate, aircraft: Aircraft) -> OwnWander:
    """The estimate, made at cruise, as wander at 12,000 rpm, of which the engine makes more or less.

    The faults that the aircraft's file has from the start are flown again, so that they are taken out here.
    """
    seen = symptoms(CRUISE_RPM, 0.0, suction_system_of(aircraft), Rotor(), aircraft.faults_at_start())
    factor = seen.limit_drift_deg_15min / LIMIT_DRIFT_DEG_15MIN
    if not (math.isfinite(factor) and factor > 0.0):
        return HEALTHY
    spread = (estimate.high_deg_15min - estimate.low_deg_15min) / (2.0 * TIMES_SD)
    return OwnWander(estimate.mean_deg_15min / factor, max(spread, 0.0) / factor, "the aircraft's log")
