"""The judgement: mirrored and turned logs, what no reading says, what an observation is worth."""

import math

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from lubberline.errors import InputError
from lubberline.simulation.aircraft import Aircraft, HeadingIndicatorEntry, SuctionEntry
from lubberline.upkeep import filtering
from lubberline.upkeep.estimating import prior_of
from lubberline.upkeep.explained import slowness
from lubberline.upkeep.faults_fitted import (
    CLASSES,
    GAUGE_SD_INHG,
    PRIOR,
    Fitted,
    Readings,
    fit_faults,
    readings_of,
    shown,
    worth_observing,
)
from lubberline.upkeep.judge import by_rule_of_thumb, judge
from lubberline.upkeep.log import log_from_text
from lubberline.upkeep.records import Check, Judgement, Log, LogEvent

FREE = Aircraft(heading_indicator=HeadingIndicatorEntry())
NOTHING = Readings(math.nan, math.nan, math.nan)
WANDERS = filtering.grid()
FLAT = prior_of(WANDERS)
EARTH_DEG_15MIN = 15.041067 / 4.0


def log_of(
    wander: float,
    *,
    checks: int = 20,
    latitude_deg: float = 60.0,
    seed: int = 1,
    minutes: float = 30.0,
    scatter_deg: float = 1.5,
    idle: float = math.nan,
    cruise: float = math.nan,
    run_down: float = math.nan,
) -> Log:
    """Checks standing still, each after its own setting."""
    rng = np.random.default_rng(seed)
    found = []
    for k in range(checks):
        compass = float(rng.integers(0, 360))
        rate = wander - EARTH_DEG_15MIN * math.sin(math.radians(latitude_deg))
        indicated = compass + rate * minutes / 15.0 + rng.normal(0.0, scatter_deg)
        time_s = 1_780_000_000.0 + 7.0 * 86400.0 * k
        found.append(
            Check(
                row=k + 2,
                time_s=time_s,
                latitude_deg=latitude_deg,
                longitude_deg=20.0,
                indicated_deg=indicated % 360.0,
                compass_deg=compass,
                set_s=time_s - 60.0 * minutes,
                set_compass_deg=compass,
                groundspeed_kt=0.0,
                track_deg=0.0,
                idle_inhg=idle,
                cruise_inhg=cruise,
                run_down_min=run_down,
                typed={},
            )
        )
    return Log("ZZ-TST", tuple(found), (), ())


def moved(log: Log, change: float, *, mirror: bool = False) -> Log:
    """All headings turned by a number of degrees, or the whole seen in a mirror along the equator."""
    sign = -1.0 if mirror else 1.0
    checks = [
        msgspec.structs.replace(
            one,
            latitude_deg=sign * one.latitude_deg,
            indicated_deg=(sign * one.indicated_deg + change) % 360.0,
            compass_deg=(sign * one.compass_deg + change) % 360.0,
            set_compass_deg=(sign * one.set_compass_deg + change) % 360.0,
        )
        for one in log.checks
    ]
    return msgspec.structs.replace(log, checks=tuple(checks))


def probabilities(judgement: Judgement) -> dict[str, float]:
    return {fit.fault: fit.probability for fit in judgement.faults}


@pytest.mark.parametrize("latitude", [-70.0, 0.0, 68.0, 80.0])
def test_a_healthy_instrument_is_only_the_earth_wherever_it_is(latitude: float) -> None:
    judgement = judge(log_of(0.7, latitude_deg=latitude), FREE)
    assert judgement.verdict == "earth"
    assert judgement.estimate.low_deg_15min < 0.7 < judgement.estimate.high_deg_15min


def test_a_bad_one_at_40_north_is_found_though_the_rule_of_thumb_lets_it_pass() -> None:
    log = log_of(5.0, latitude_deg=40.0)
    judgement = judge(log, FREE)
    assert judgement.verdict == "look"
    assert judgement.estimate.beyond_limit > 0.99
    assert not by_rule_of_thumb(log.checks)
    assert "would accept it" in judgement.rule_of_thumb


def test_in_a_mirror_only_the_sign_changes() -> None:
    log = log_of(2.0, latitude_deg=55.0)
    one, other = judge(log, FREE), judge(moved(log, 0.0, mirror=True), FREE)
    assert other.estimate.mean_deg_15min == pytest.approx(-one.estimate.mean_deg_15min, abs=1e-4)
    assert other.estimate.low_deg_15min == pytest.approx(-one.estimate.high_deg_15min, abs=1e-4)
    assert probabilities(other) == pytest.approx(probabilities(one), abs=1e-5)
    assert other.verdict == one.verdict


@pytest.mark.parametrize("turn", [37.0, 180.0, 359.0])
def test_turning_all_headings_changes_nothing(turn: float) -> None:
    log = log_of(2.0)
    one, other = judge(log, FREE), judge(moved(log, turn), FREE)
    assert other.estimate.mean_deg_15min == pytest.approx(one.estimate.mean_deg_15min, abs=1e-9)
    assert other.sentence == one.sentence


def test_more_checks_narrow_the_interval() -> None:
    widths = []
    for checks in (4, 16, 64):
        own = judge(log_of(0.5, checks=checks), FREE).estimate
        widths.append(own.high_deg_15min - own.low_deg_15min)
    assert widths[0] > 1.4 * widths[1] > 1.96 * widths[2]


def test_a_growing_wander_is_said_to_grow() -> None:
    parts = [log_of(6.0 * k / 39.0, checks=40).checks[k] for k in range(40)]
    own = judge(Log("x", tuple(parts), (), ()), FREE).estimate
    assert own.growing > 0.9
    assert own.trend[0].mean_deg_15min < 1.5
    assert own.low_deg_15min < 6.0 < own.high_deg_15min
    assert judge(log_of(1.0, checks=40), FREE).estimate.growing < 0.5


def test_a_log_without_a_good_check_is_refused() -> None:
    with pytest.raises(InputError, match="no usable check"):
        judge(Log("ZZ-TST", (), (), ()), FREE)


def test_rows_that_were_not_taken_are_told() -> None:
    head = "time_utc,place,indicated,compass,set_at\n"
    log = log_from_text("x", head + "2026-05-12T09:00Z,0 0,1,1,08:45Z\n2026-05-12T10:00Z,0 0,361,1,09:45Z\n")
    assert any("1 row was refused" in reason for reason in judge(log, FREE).reasons)


def test_all_that_is_shown_with_it_is_there() -> None:
    judgement = judge(log_of(0.0), FREE)
    assert len(judgement.residuals) == 20
    assert any("licensed maintenance engineer" in words for words in judgement.cautions)
    assert sum(probabilities(judgement).values()) == pytest.approx(1.0)
    assert any("straight and level" in words for words in judgement.assumed)
    for one in judgement.residuals:
        gone = one.earth_deg + one.travel_deg + one.balance_deg + one.variation_deg + one.deviation_deg
        assert math.remainder(one.seen_deg - gone - one.left_deg, 360.0) == pytest.approx(0.0, abs=1e-9)


def test_without_readings_and_drift_what_was_believed_before_stands() -> None:
    fitted = fit_faults(FREE, NOTHING, FLAT, FLAT, slowness(FREE))
    for fault, before in PRIOR.items():
        assert fitted.probability(fault) == pytest.approx(before, abs=1e-9)


@pytest.mark.parametrize("tap", ["cabin", "instruments"])
@pytest.mark.parametrize("fault", [one for one in CLASSES if one != "balance"])
def test_what_a_fault_shows_is_read_back(fault: str, tap: str) -> None:
    aircraft = Aircraft(suction=SuctionEntry(gauge_tap=tap))  # type: ignore[arg-type]
    table = shown(aircraft, fault)  # type: ignore[arg-type]
    at = len(table.sizes) * 3 // 4
    log = log_of(
        0.3,
        idle=float(table.idle_inhg[at]),
        cruise=float(table.cruise_inhg[at]),
        run_down=float(table.run_down_min[at]),
    )
    assert judge(log, aircraft).faults[0].fault == fault


def test_drift_with_healthy_air_and_bearings_is_the_balance() -> None:
    table = shown(FREE, "healthy")
    log = log_of(
        5.0,
        idle=float(table.idle_inhg[0]),
        cruise=float(table.cruise_inhg[0]),
        run_down=float(table.run_down_min[0]),
    )
    found = judge(log, FREE)
    assert found.faults[0].fault == "balance"
    assert found.faults[0].probability > 0.9


def test_pump_and_leak_are_one_class_and_the_check_between_them_is_named() -> None:
    assert CLASSES["low_flow"] == ("pump", "leak")
    table = shown(FREE, "low_flow")
    log = log_of(0.3, idle=float(table.idle_inhg[8]), cruise=float(table.cruise_inhg[8]))
    words = judge(log, FREE).faults[0].words
    assert "pump" in words
    assert "leak" in words
    assert "hose" in words


def test_an_electric_gyro_has_no_suction() -> None:
    electric = Aircraft(heading_indicator=HeadingIndicatorEntry(drive="electric"))
    judgement = judge(log_of(0.0), electric)
    assert set(probabilities(judgement)) == {"healthy", "bearings", "balance"}


def test_readings_before_maintenance_are_of_another_time() -> None:
    log = log_of(0.0, checks=10, idle=1.0)
    fresh = msgspec.structs.replace(log.checks[-1], idle_inhg=3.2)
    event = LogEvent(99, fresh.time_s - 3600.0, "pump changed")
    read = readings_of(msgspec.structs.replace(log, checks=(*log.checks[:-1], fresh), events=(event,)))
    assert read.idle_inhg == 3.2
    assert read.counts[0] == 1


def test_the_worth_of_an_observation_beside_sampling() -> None:
    """Draw a fault, then a reading; how much the class's entropy falls, on average, by Bayes' rule."""
    fitted = fit_faults(FREE, Readings(math.nan, 4.9, math.nan), FLAT, FLAT, slowness(FREE))
    told = {one.words: one.bits for one in worth_observing(FREE, fitted)}
    rng = np.random.default_rng(2)
    weights = np.concatenate(list(fitted.by_size.values()))
    expected = np.concatenate([shown(FREE, fault).idle_inhg for fault in fitted.by_size])
    owner = np.repeat(np.arange(len(fitted.by_size)), [len(one) for one in fitted.by_size.values()])
    drawn = rng.choice(len(weights), 20_000, p=weights / weights.sum())
    read = expected[drawn] + rng.normal(0.0, GAUGE_SD_INHG, len(drawn))
    likelihood = stats.norm.pdf(read[:, None], expected[None, :], GAUGE_SD_INHG) * weights
    shares = np.stack([likelihood[:, owner == k].sum(axis=1) for k in range(len(fitted.by_size))], axis=1)
    shares /= shares.sum(axis=1, keepdims=True)
    before = np.array([weight.sum() for weight in fitted.by_size.values()])
    sampled = stats.entropy(before, base=2) - stats.entropy(shares, base=2, axis=1).mean()
    assert told["read the suction gauge at idle"] == pytest.approx(sampled, abs=0.02)


def test_nothing_tells_more_of_a_fault_that_is_known() -> None:
    fitted = fit_faults(FREE, Readings(3.2, 5.1, 4.0, (5, 5, 5)), FLAT, FLAT, slowness(FREE))
    assert fitted.probability("bearings") > 0.99
    assert max(one.bits for one in worth_observing(FREE, fitted)) < 0.05
    assert isinstance(fitted, Fitted)


def test_the_spin_down_is_asked_for_when_the_gauge_has_said_its_part() -> None:
    healthy = shown(FREE, "healthy")
    log = log_of(4.5, idle=float(healthy.idle_inhg[0]), cruise=float(healthy.cruise_inhg[0]))
    assert "spin-down" in judge(log, FREE).next_observation


ROWS = st.lists(
    st.tuples(
        st.floats(-90.0, 90.0),
        st.floats(0.0, 359.9),
        st.floats(0.0, 359.9),
        st.floats(0.1, 1440.0),
        st.floats(0.0, 700.0),
        st.floats(0.0, 359.9),
        st.one_of(st.just(math.nan), st.floats(0.0, 10.0)),
        st.one_of(st.just(math.nan), st.floats(0.0, 240.0)),
    ),
    min_size=1,
    max_size=10,
)


@given(ROWS)
def test_any_log_that_can_be_read_can_be_judged(rows: list[tuple[float, ...]]) -> None:
    base = log_of(0.0, checks=len(rows)).checks
    checks = [
        msgspec.structs.replace(
            one,
            latitude_deg=latitude,
            indicated_deg=indicated,
            compass_deg=compass,
            set_s=one.time_s - 60.0 * minutes,
            groundspeed_kt=speed,
            track_deg=track,
            idle_inhg=suction,
            run_down_min=run_down,
        )
        for one, (latitude, indicated, compass, minutes, speed, track, suction, run_down) in zip(
            base, rows, strict=True
        )
    ]
    judgement = judge(Log("x", tuple(checks), (), ()), FREE)
    own = judgement.estimate
    # The mean of two peaks may stand outside the interval.
    assert -41.0 < own.low_deg_15min <= own.high_deg_15min < 41.0
    assert -41.0 < own.mean_deg_15min < 41.0
    assert sum(probabilities(judgement).values()) == pytest.approx(1.0)
    assert "nan" not in judgement.sentence
