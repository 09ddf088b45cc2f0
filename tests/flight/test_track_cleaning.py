"""Dirty tracks fly, and say what was assumed and where."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from lubberline.errors import InputError
from lubberline.flight.motion import STEP_S, Motion
from lubberline.flight.tracks.cleaning import clean, gaps_of
from lubberline.flight.tracks.fixes import Fixes
from lubberline.flight.tracks.motion import motion_of
from lubberline.units import KT_MPS
from tests.flight.synthetic_tracks import Truth, flight, off_deg, recorded, rms_errors_deg


@cache
def truth() -> Truth:
    """What the dirty tracks are made of."""
    return flight(100.0, [(0.0, 200.0), (15.0, 60.0), (0.0, 60.0)])


def plain(every_s: float = 1.0, *, columns: bool = True, noise_m: float = 3.0) -> Fixes:
    return recorded(truth(), every_s, speed_and_track=columns, seed=11, noise_m=noise_m)


def picked(fixes: Fixes, index: np.ndarray) -> Fixes:
    chosen = {}
    for name, value in vars(fixes).items():
        chosen[name] = value[index] if isinstance(value, np.ndarray) else value
    return Fixes(**chosen)


def said(motion: Motion, *parts: str) -> bool:
    return any(all(part in warning for part in parts) for warning in motion.warnings)


def test_a_clean_track_has_no_warnings_but_whole_degrees() -> None:
    motion = motion_of(plain())
    assert len(motion.warnings) == 1
    assert said(motion, "whole degrees")
    assert not motion_of(plain(columns=False)).warnings


def test_a_time_given_twice_keeps_the_first() -> None:
    fixes = plain()
    doubled = picked(fixes, np.sort(np.append(np.arange(len(fixes)), [50, 50, 90])))
    latitude = doubled.latitude_deg.copy()
    latitude[51:53] += 1e-3
    dirty = replace(doubled, latitude_deg=latitude)
    motion = motion_of(dirty)
    assert said(motion, "line 52", "10:00:50Z", "3 fixes", "the first of each was kept")
    np.testing.assert_array_equal(motion.samples, motion_of(fixes).samples)


def test_a_frozen_receiver_is_left_out_and_a_parked_aircraft_is_not() -> None:
    fixes = plain()
    frozen = fixes.latitude_deg.copy(), fixes.longitude_deg.copy()
    for axis in frozen:
        axis[101:106] = axis[100]
    motion = motion_of(replace(fixes, latitude_deg=frozen[0], longitude_deg=frozen[1]))
    assert said(motion, "line 103", "repeat the position", "left out: 5")
    assert rms_errors_deg(truth(), motion)[0] < 1.0

    parked = picked(plain(columns=False, noise_m=0.0), np.arange(61))
    place = np.full(61, parked.latitude_deg[0]), np.full(61, parked.longitude_deg[0])
    still = replace(parked, latitude_deg=place[0], longitude_deg=place[1])
    assert len(clean(still)[0]) == 61
    standing = motion_of(still)
    assert standing.slow.all()
    assert (standing.samples["bank_rad"] == 0.0).all()
    assert np.ptp(standing.samples["heading_rad"]) == 0.0
    np.testing.assert_allclose(standing.samples["engine_rpm"], 800.0)


def test_a_silence_is_flown_along_the_geodesic_at_constant_speed() -> None:
    long = flight(100.0, [(0.0, 1500.0)])
    whole = recorded(long, 1.0, speed_and_track=True, seed=12, noise_m=3.0)
    fixes = picked(whole, np.r_[0:200, 1220 : len(whole)])
    motion = motion_of(fixes)
    assert said(motion, "lines 201 to 1222", "gap of 17.0 min", "10:03:19Z", "geodesic")
    assert [(event.kind, event.time_s) for event in motion.events] == [("gap", 199.0)]
    assert motion.sparse[round(200.0 / STEP_S) : round(1219.0 / STEP_S)].all()
    assert not motion.sparse[: round(198.0 / STEP_S)].any()

    first, last = (
        (fixes.latitude_deg[199], fixes.longitude_deg[199]),
        (fixes.latitude_deg[200], fixes.longitude_deg[200]),
    )
    line = Geodesic.WGS84.InverseLine(*first, *last)
    for time_s in (300.0, 700.0, 1100.0):
        sample = motion.samples[round(time_s / STEP_S)]
        wanted = line.Position((time_s - 199.0) / 1021.0 * line.s13)
        here = np.degrees([sample["latitude_rad"], sample["longitude_rad"]])
        off_m = Geodesic.WGS84.Inverse(*here, wanted["lat2"], wanted["lon2"])["s12"]
        assert off_m < 5.0
        assert np.hypot(sample["north_mps"], sample["east_mps"]) == pytest.approx(line.s13 / 1021.0, rel=5e-3)


@pytest.mark.parametrize(("usual_s", "silent_s", "gap"), [(1, 50, 0), (1, 70, 1), (30, 200, 0), (30, 400, 1)])
def test_a_silence_is_a_minute_and_ten_of_the_usual_steps(usual_s: int, silent_s: int, gap: int) -> None:
    time_s = np.concatenate([np.arange(10.0) * usual_s, 9.0 * usual_s + silent_s + np.arange(10.0) * usual_s])
    fixes = plain()
    every = picked(fixes, np.arange(len(time_s)))
    gaps, words = gaps_of(replace(every, time_utc_s=time_s))
    assert len(gaps) == len(words) == gap


def test_a_gap_that_leads_back_is_flown_slowly_and_flagged() -> None:
    """A glider that circled unheard: the far end of the silence is close by."""
    long = flight(60.0, [(0.0, 100.0), (20.0, 900.0), (0.0, 100.0)])
    whole = recorded(long, 1.0, speed_and_track=True, seed=13, noise_m=3.0)
    motion = motion_of(picked(whole, np.r_[0:150, 900 : len(whole)]))
    assert np.abs(motion.samples["bank_rad"]).max() < np.radians(60.0)
    assert motion.slow[round(300.0 / STEP_S) : round(800.0 / STEP_S)].all()


def test_a_single_fix_aside_is_left_out() -> None:
    fixes = plain()
    longitude = fixes.longitude_deg.copy()
    longitude[120] += 300.0 / 74_000.0
    motion = motion_of(replace(fixes, longitude_deg=longitude))
    assert said(motion, "line 122", "1 fixes too far off")
    assert rms_errors_deg(truth(), motion)[0] < 1.0


def test_a_wrong_unit_or_a_magnetic_track_is_not_used() -> None:
    fixes = plain()
    metric = replace(fixes, groundspeed_kt=fixes.groundspeed_kt * 1.852)
    assert said(motion_of(metric), "groundspeed_kt is 1.85 times", "not used")
    magnetic = replace(fixes, track_deg=(fixes.track_deg + 12.0) % 360.0)
    motion = motion_of(magnetic)
    assert said(motion, "track_deg is +12 deg", "not used")
    assert rms_errors_deg(truth(), motion)[1] < 1.0


def test_a_step_of_700_kt_is_the_fastest_that_is_believed() -> None:
    fixes = plain(noise_m=0.0)

    def stepping(speed_kt: float) -> Fixes:
        """The aircraft flies on from where that speed took it in the second before fix 100."""
        metres = Geodesic.WGS84.Inverse(
            fixes.latitude_deg[99],
            fixes.longitude_deg[99],
            fixes.latitude_deg[99] + 1e-3,
            fixes.longitude_deg[99],
        )["s12"]
        latitude = fixes.latitude_deg.copy()
        latitude[100:] += fixes.latitude_deg[99] + speed_kt * KT_MPS / metres * 1e-3 - fixes.latitude_deg[100]
        longitude = fixes.longitude_deg.copy()
        longitude[100:] += fixes.longitude_deg[99] - fixes.longitude_deg[100]
        return replace(fixes, latitude_deg=latitude, longitude_deg=longitude)

    clean(stepping(695.0))
    with pytest.raises(InputError, match=r"line 102: a jump of 0.4 km since line 101, 705 kt"):
        clean(stepping(705.0))


def test_a_jump_is_refused_with_both_lines() -> None:
    fixes = plain()
    latitude = fixes.latitude_deg.copy()
    latitude[100:] += 0.01
    with pytest.raises(InputError, match=r"line 102: a jump of .* since line 101") as caught:
        motion_of(replace(fixes, latitude_deg=latitude))
    assert "700 kt" in caught.value.right


def test_a_steep_path_is_cut_off_and_says_where() -> None:
    hard = flight(200.0, [(0.0, 30.0), (82.0, 20.0), (0.0, 30.0)])
    motion = motion_of(recorded(hard, 1.0, speed_and_track=True, seed=14, noise_m=1.0))
    assert np.degrees(np.abs(motion.samples["bank_rad"])).max() == pytest.approx(75.0)
    assert said(motion, "10:00:3", "more than 75 deg of bank")


def along(north_kt: np.ndarray, east_kt: np.ndarray, *, every_s: int = 1, noise_m: float = 0.0) -> Fixes:
    """A track on the ground of an airfield at 45 N, from speeds given every second."""
    rng = np.random.default_rng(15)
    north_m, east_m = (
        np.concatenate(([0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1])))) * KT_MPS
        + rng.normal(0, noise_m, len(speed))
        for speed in (north_kt, east_kt)
    )
    count = len(north_m[::every_s])
    nothing = np.full(count, np.nan)
    return Fixes(
        source="t.csv",
        time_utc_s=1.75e9 + np.arange(count) * every_s,
        latitude_deg=45.0 + north_m[::every_s] / 111_140.0,
        longitude_deg=8.0 + east_m[::every_s] / 78_850.0,
        altitude_m=200.0 + np.round(rng.normal(0.0, noise_m, count)),
        groundspeed_kt=nothing,
        track_deg=nothing,
        line=np.arange(count) + 2,
        title="t",
    )


RUN_KT = np.concatenate(
    (np.zeros(60), np.linspace(0, 80, 40), np.full(120, 80.0), np.linspace(80, 0, 40), np.zeros(60))
)


def test_standing_and_rolling_hold_the_heading_and_are_flagged_slow() -> None:
    """Stands, rolls, flies, lands and stands again: no bank and no spin from noise on the ground."""
    motion = motion_of(along(RUN_KT, 0.0 * RUN_KT, noise_m=3.0))
    samples, heading = motion.samples, np.degrees(motion.samples["heading_rad"])
    assert motion.slow[: round(55.0 / STEP_S)].all()
    assert motion.slow[-round(55.0 / STEP_S) :].all()
    assert not motion.slow[round(110.0 / STEP_S) : round(210.0 / STEP_S)].any()
    assert (samples["bank_rad"][motion.slow] == 0.0).all()
    assert np.abs(off_deg(heading, np.zeros(len(heading)))).max() < 15.0
    assert np.abs(np.degrees(samples["bank_rad"])).max() < 6.0
    assert np.ptp(heading[: round(55.0 / STEP_S)]) == 0.0


def test_between_two_flights_the_heading_is_held_and_then_turned() -> None:
    """Lands northbound, stands for two minutes, leaves eastbound."""
    north, east = np.append(RUN_KT, 0.0 * RUN_KT), np.append(0.0 * RUN_KT, RUN_KT)
    motion = motion_of(along(north, east, noise_m=3.0))
    heading = np.degrees(np.unwrap(motion.samples["heading_rad"]))
    standing = heading[round(270.0 / STEP_S) : round(340.0 / STEP_S)]
    assert np.ptp(standing) == 0.0
    assert abs(off_deg(standing[0], 0.0)) < 15.0
    assert abs(off_deg(heading[round(450.0 / STEP_S)], 90.0)) < 5.0
    on_ground = slice(round(270.0 / STEP_S), round(380.0 / STEP_S))
    assert (motion.samples["bank_rad"][on_ground] == 0.0).all()
    assert np.abs(np.diff(heading[on_ground])).max() / STEP_S < 6.0


def test_an_aircraft_parked_between_rare_fixes_keeps_them() -> None:
    """Ten minutes at one place, then 500 m further within half a minute: it stood, it was not frozen."""
    speed_kt = np.append(np.zeros(571), np.full(330, 33.0))
    fixes = along(speed_kt, 0.0 * speed_kt, every_s=30)
    assert len(clean(fixes)[0]) == len(fixes)
    motion = motion_of(fixes)
    assert motion.slow[: round(540.0 / STEP_S)].all()
    assert not any("repeat" in warning for warning in motion.warnings)


def test_sparse_by_time_or_by_turn() -> None:
    slow_fixes = motion_of(recorded(flight(100.0, [(0.0, 600.0)]), 40.0, speed_and_track=True, seed=16))
    assert slow_fixes.sparse.all()
    # 40 deg of bank at 50 kt turns 18 deg a second, so 10 s are half a circle; straight flight is not sparse.
    circling = flight(50.0, [(0.0, 200.0), (40.0, 200.0)])
    motion = motion_of(recorded(circling, 6.0, speed_and_track=True, seed=17, noise_m=3.0))
    assert not motion.sparse[: round(180.0 / STEP_S)].any()
    assert motion.sparse[round(220.0 / STEP_S) : round(380.0 / STEP_S)].mean() > 0.9


def test_engine_speed_follows_the_phase_of_flight() -> None:
    climb = flight(90.0, [(0.0, 300.0)], climb_fpm=500.0)
    level, down = flight(90.0, [(0.0, 300.0)]), flight(90.0, [(0.0, 300.0)], climb_fpm=-500.0)
    for truth, rpm in ((climb, 2500.0), (level, 2400.0), (down, 2000.0)):
        motion = motion_of(recorded(truth, 1.0, speed_and_track=True, seed=18))
        assert np.median(motion.samples["engine_rpm"]) == pytest.approx(rpm)
        assert any("Engine speed was assumed" in note for note in motion.notes)
