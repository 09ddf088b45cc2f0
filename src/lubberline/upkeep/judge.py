"""The judgement of an instrument from its log: the Earth, or the instrument?"""

import math
from collections.abc import Iterable, Sequence

import numpy as np

from lubberline.angles import wrapped_deg
from lubberline.errors import InputError
from lubberline.simulation import CAUTIONS
from lubberline.simulation.aircraft import Aircraft
from lubberline.upkeep.estimating import LIMIT_DEG_15MIN, Found, estimate_of, under_prior
from lubberline.upkeep.explained import Explained, balance_deg_15min, explained, slowness
from lubberline.upkeep.faults_fitted import (
    Fitted,
    Readings,
    fit_faults,
    readings_of,
    wander_by_readings,
    worth_observing,
)
from lubberline.upkeep.filtering import Noise
from lubberline.upkeep.records import FAULT_NAMES, Check, Judgement, Log, Residual, Verdict

LOOK_AT = 0.9
WATCH = 0.1
FAULT_SURE = 0.85
FAULT_LIKELY = 0.4
WORTH_NAMING = 0.2
LEAST_BITS = 0.02
MISREADING_LEAST_DEG = 1.0
CARD_READING_SD_DEG = 0.7


def noise_of(aircraft: Aircraft) -> Noise:
    """The assumed scatter of this aircraft's entries, before the log is used."""
    misreading = max(aircraft.pilot.misreading_sd_deg, MISREADING_LEAST_DEG)
    random = aircraft.heading_indicator.random_wander_deg_15min
    # A check is a reading of compass and card; a setting is one of the compass alone.
    reading = math.hypot(misreading, CARD_READING_SD_DEG)
    return Noise(reading_deg=reading, setting_deg=misreading, random_deg_15min=max(random, 0.1))


def judge(log: Log, aircraft: Aircraft) -> Judgement:
    """The judgement of the heading indicator from a log.

    Args:
        log: from `log.read_log`.
        aircraft: with its balance, its compass's deviation, where its gauge is tapped.

    Raises:
        InputError: a log without a single good check.
    """
    if not log.checks:
        raise InputError(log.aircraft or "log", "it has no usable check", "see the refused rows")
    read = readings_of(log)
    # On a slow rotor the latitude nut has more effect; the excess is attributed to the instrument.
    healthy = slowness(aircraft)
    parts = explained(log.checks, aircraft, healthy)
    found = estimate_of(log, parts.left, noise_of(aircraft))
    fitted = fit_faults(aircraft, read, found.posterior, found.prior, healthy)
    found = under_prior(found, wander_by_readings(aircraft, read, healthy))
    verdict = _verdict(found, fitted)
    return Judgement(
        aircraft=log.aircraft or aircraft.name,
        verdict=verdict,
        sentence=_sentence(verdict, found, fitted),
        reasons=tuple(_reasons(log, parts, found, fitted, read)),
        estimate=found.estimate,
        faults=fitted.faults,
        next_observation=_next(aircraft, fitted, found),
        assumed=_assumed(aircraft, found, healthy),
        residuals=tuple(
            Residual(check, *map(float, values))
            for check, *values in zip(log.checks, *parts, parts.left, found.wrong, strict=True)
        ),
        rule_of_thumb=rule_of_thumb_words(log.checks),
        cautions=CAUTIONS,
    )


def _verdict(found: Found, fitted: Fitted) -> Verdict:
    beyond = found.estimate.beyond_limit
    faulty = 1.0 - fitted.probability("healthy")
    if beyond >= LOOK_AT or faulty >= FAULT_SURE:
        return "look"
    if beyond >= WATCH or faulty >= FAULT_LIKELY or found.estimate.growing >= LOOK_AT:
        return "watch"
    return "earth"


def _sentence(verdict: Verdict, found: Found, fitted: Fitted) -> str:
    own = found.estimate
    size = f"{own.mean_deg_15min:+.1f} deg in 15 min ({own.low_deg_15min:+.1f} to {own.high_deg_15min:+.1f})"
    if verdict == "earth":
        within = 1.0 - own.beyond_limit
        return f"Real wander {size}; within the usual 3 deg with a probability of {within:.0%}."
    likely = next(fit for fit in fitted.faults if fit.fault != "healthy")
    named = f"; most likely fault: {FAULT_NAMES[likely.fault]} ({likely.probability:.0%})"
    if likely.probability < WORTH_NAMING:
        named = "; no known fault explains it better than a healthy instrument"
    more = " More checks are needed." if verdict == "watch" else ""
    return f"Real wander {size}{named}.{more}"


def _counted(count: int, one: str, more: str = "") -> str:
    """A number with its noun: '1 check', '3 checks'."""
    return f"{count} {one if count == 1 else more or one + 's'}"


def _reasons(log: Log, parts: Explained, found: Found, fitted: Fitted, read: Readings) -> Iterable[str]:
    quarters = np.array([check.minutes / 15.0 for check in log.checks])
    per = {
        name: float(np.sum(getattr(parts, name)) / max(np.sum(quarters), 1e-9))
        for name in ("earth", "travel", "balance", "variation")
    }
    settings = len({check.set_s for check in log.checks})
    yield (
        f"{_counted(len(log.checks), 'check')} after {_counted(settings, 'setting')}. In 15 min apparent "
        f"wander moves this card by {per['earth']:+.1f} deg, transport wander by {per['travel']:+.1f}, the "
        f"latitude nut by {per['balance']:+.1f}, the change in variation by {per['variation']:+.1f}."
    )
    own = found.estimate
    yield (
        f"The rest is {own.mean_deg_15min:+.1f} deg in 15 min, between {own.low_deg_15min:+.1f} and "
        f"{own.high_deg_15min:+.1f} with 95% probability; the probability of more than "
        f"{LIMIT_DEG_15MIN:.0f} deg either way is {own.beyond_limit:.0%}."
    )
    if own.growing >= FAULT_LIKELY:
        yield f"It changes along the log (probability {own.growing:.0%})."
    wrong = int((found.wrong > 0.5).sum())
    if wrong:
        rows = ", ".join(str(log.checks[i].row) for i in np.flatnonzero(found.wrong > 0.5)[:8])
        looks = _counted(wrong, "check is", "checks are")
        yield f"{looks} grossly wrong; these rows were almost ignored (rows {rows})."
    seen = [
        words
        for words, value in (
            (f"{read.idle_inhg:.1f} inHg at idle", read.idle_inhg),
            (f"{read.cruise_inhg:.1f} inHg at cruise", read.cruise_inhg),
            (f"a spin-down of {read.run_down_min:.1f} min", read.run_down_min),
        )
        if math.isfinite(value)
    ]
    if seen:
        yield f"The last readings are {', '.join(seen)}."
    likely = fitted.faults[0]
    yield f"{FAULT_NAMES[likely.fault].capitalize()}, {likely.probability:.0%}: {likely.words}"
    if log.refused:
        rows = _counted(len(log.refused), "row was", "rows were")
        yield f"{rows} refused; each is listed with what would be right."


def _next(aircraft: Aircraft, fitted: Fitted, found: Found) -> str:
    best = worth_observing(aircraft, fitted)[0]
    wide = found.estimate.high_deg_15min - found.estimate.low_deg_15min
    if best.bits >= LEAST_BITS:
        words = best.words[0].upper() + best.words[1:]
        return f"{words}: this reading would best tell the faults apart."
    if wide > 1.5:
        return "Check it once more in straight flight, 30 min after a setting: the drift is too uncertain."
    return "Nothing more is needed now; continue to log a check on each flight."


def _assumed(aircraft: Aircraft, found: Found, rotor_slowness: float) -> tuple[str, ...]:
    latitude = aircraft.heading_indicator.balance_latitude_deg
    balance = (
        "no latitude nut"
        if latitude is None
        else f"a latitude nut set for {latitude:g} deg, which gives "
        f"{balance_deg_15min(aircraft, rotor_slowness):+.1f} deg in 15 min at cruise"
    )
    return (
        "Compass and heading indicator were read in straight and level flight, or at a standstill.",
        "The heading indicator was set to the compass reading; if the log does not have that reading, on the "
        "same heading as at the check.",
        f"The aircraft file: {balance}; the compass's deviation by its coefficients.",
        f"Readings scatter by {found.noise.reading_deg:.1f} deg and settings by "
        f"{found.noise.setting_deg:.1f} deg, as this log shows; one check in twenty may be grossly wrong.",
        "Between a setting and its check the ground speed and the track were those in the log, or zero.",
        "Healthy instruments have real wander of either sign, about 1 deg in 15 min; the usual allowance is "
        "3 (common practice, no source).",
    )


def by_rule_of_thumb(checks: Sequence[Check]) -> bool:
    """Whether 'more than 3 deg in 15 minutes' blames the instrument: by the median of all checks, as seen."""
    seen = wrapped_deg(np.array([check.indicated_deg - check.compass_deg for check in checks]))
    quarters = np.array([max(check.minutes, 1.0) / 15.0 for check in checks])
    return bool(abs(float(np.median(seen / quarters))) > LIMIT_DEG_15MIN)


def rule_of_thumb_words(checks: Sequence[Check]) -> str:
    """The result of the rule of thumb for the same log, for comparison."""
    if by_rule_of_thumb(checks):
        return "The rule of thumb (3 deg in 15 min everywhere) would blame the instrument."
    return "The rule of thumb (3 deg in 15 min everywhere) would accept it."
