"""An aircraft's log as read, what is judged from it, and a plan for a flight's indicator, as plain values.

Angles in degrees, drift and wander in degrees per 15 min, positive: the reading
increases. Times in seconds UTC.
"""

from typing import Literal

import msgspec

Verdict = Literal["earth", "watch", "look"]
FaultClass = Literal["healthy", "low_flow", "regulator", "filter", "bearings", "balance"]
VERDICT_WORDS: dict[Verdict, str] = {
    "earth": "Only the Earth",
    "watch": "Keep watching",
    "look": "Have it checked by an engineer",
}
FAULT_NAMES: dict[FaultClass, str] = {
    "healthy": "nothing wrong",
    "low_flow": "low flow (pump or hose leak)",
    "regulator": "regulator",
    "filter": "filter",
    "bearings": "bearings",
    "balance": "latitude nut",
}


class Refusal(msgspec.Struct, frozen=True):
    """A refused row: where it is, what is wrong, what would be right, and the row as typed."""

    where: str
    wrong: str
    right: str
    typed: dict[str, str]


class Check(msgspec.Struct, frozen=True):
    """One check of the heading indicator, as understood.

    Attributes:
        row: line of the file, or number of the entry.
        time_s: when.
        latitude_deg: where; nan where no place was given and none before it.
        longitude_deg: where.
        indicated_deg: the heading indicator.
        compass_deg: the compass, read in straight and level flight or standing.
        set_s: when the indicator was last set to the compass.
        set_compass_deg: the compass at that setting; nan where not written.
        groundspeed_kt: mean over the ground since the setting; 0 standing.
        track_deg: mean true track since the setting.
        idle_inhg: suction gauge at idle; nan where not read.
        cruise_inhg: suction gauge at cruise power; nan where not read.
        run_down_min: rotor's spin-down from cruise; nan where not timed.
        typed: the row as typed, by column.
    """

    row: int
    time_s: float
    latitude_deg: float
    longitude_deg: float
    indicated_deg: float
    compass_deg: float
    set_s: float
    set_compass_deg: float
    groundspeed_kt: float
    track_deg: float
    idle_inhg: float
    cruise_inhg: float
    run_down_min: float
    typed: dict[str, str]

    @property
    def minutes(self) -> float:
        """Since the setting."""
        return (self.time_s - self.set_s) / 60.0


class LogEvent(msgspec.Struct, frozen=True):
    """Maintenance of the instrument or its air."""

    row: int
    time_s: float
    words: str


class Log(msgspec.Struct, frozen=True):
    """An aircraft's log: accepted and refused rows.

    Attributes:
        aircraft: its name.
        checks: in order of time.
        events: in order of time.
        refused: rows that were not taken.
        settings: rows that only say that it was set, with no check of a setting before.
    """

    aircraft: str
    checks: tuple[Check, ...]
    events: tuple[LogEvent, ...]
    refused: tuple[Refusal, ...]
    settings: tuple[int, ...] = ()


class Residual(msgspec.Struct, frozen=True):
    """A check with its known parts taken out.

    Attributes:
        check: the row.
        seen_deg: how far the card had gone from the compass since it was set.
        earth_deg: of that, the Earth's turning.
        travel_deg: transport wander.
        balance_deg: the latitude nut.
        variation_deg: the change of variation on the way.
        deviation_deg: the compass's deviation here less that at the setting.
        left_deg: what remains for the instrument.
        outlier: probability that this entry is grossly wrong.
    """

    check: Check
    seen_deg: float
    earth_deg: float
    travel_deg: float
    balance_deg: float
    variation_deg: float
    deviation_deg: float
    left_deg: float
    outlier: float = 0.0


class TrendPoint(msgspec.Struct, frozen=True):
    """Real wander at a time with its 95% interval."""

    time_s: float
    mean_deg_15min: float
    low_deg_15min: float
    high_deg_15min: float


class Estimate(msgspec.Struct, frozen=True):
    """The instrument's real wander now, at the rotor speed at which it is flown.

    Attributes:
        mean_deg_15min: expected value.
        low_deg_15min: end of the 95% interval; `high_deg_15min` the other.
        beyond_limit: probability that it is more than the usual 3 deg in 15 min, either way.
        growing: probability that it changes slowly along the log.
        trend: at every setting.
    """

    mean_deg_15min: float
    low_deg_15min: float
    high_deg_15min: float
    beyond_limit: float
    growing: float
    trend: tuple[TrendPoint, ...]


class FaultFit(msgspec.Struct, frozen=True):
    """How well a fault fits the readings.

    Attributes:
        fault: the class; pump and hose leak are one, since they look alike at the gauge.
        probability: among all classes.
        size: of its usual measure, where it fits best; 0 for none.
        words: what it is, in a sentence.
    """

    fault: FaultClass
    probability: float
    size: float
    words: str


class Judgement(msgspec.Struct, frozen=True):
    """The judgement of the instrument.

    Attributes:
        aircraft: its name.
        verdict: its id; `VERDICT_WORDS` has what people read.
        sentence: what it rests on, in numbers.
        reasons: what led to it.
        estimate: of real wander.
        faults: all classes, the most probable first.
        next_observation: what one more observation would tell most.
        assumed: what was assumed.
        residuals: each check with what explains it taken out.
        rule_of_thumb: what 'so many degrees in 15 minutes' alone would say of the same log.
        cautions: to be shown with it.
    """

    aircraft: str
    verdict: Verdict
    sentence: str
    reasons: tuple[str, ...]
    estimate: Estimate
    faults: tuple[FaultFit, ...]
    next_observation: str
    assumed: tuple[str, ...]
    residuals: tuple[Residual, ...]
    rule_of_thumb: str
    cautions: tuple[str, ...]


class OwnWander(msgspec.Struct, frozen=True):
    """The estimate of an instrument's constant wander, at full rotor speed.

    Attributes:
        mean_deg_15min: positive: the reading increases.
        sd_deg_15min: how unsure that is.
        source: in words.
    """

    mean_deg_15min: float
    sd_deg_15min: float
    source: str


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
        zone: of the field there; where it is not '', the compass is not reliable.
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
        limit_deg: to stay within, with 95% probability.
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
