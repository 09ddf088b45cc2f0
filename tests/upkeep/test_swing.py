"""The swing against a published worked example and against general least squares."""

import numpy as np
import pytest

from lubberline.errors import InputError
from lubberline.instruments.compass.deviation import Coefficients, deviation_deg
from lubberline.upkeep.swing import Pair, pairs_from_text, swing_of, why_they_differ

# NGA, Handbook of Magnetic Compass Adjustment (2004), ch. V, sec. 501, fig. 501: by compass heading.
PUBLISHED = {0: 10.5, 45: 20.0, 90: 11.5, 135: -1.2, 180: -5.5, 225: -8.0, 270: -12.5, 315: -6.8}


def pairs_of(deviations: dict[float, float]) -> list[Pair]:
    """The aircraft turned until the compass reads each heading."""
    return [Pair((heading + found) % 360.0, float(heading)) for heading, found in deviations.items()]


def drawn(count: int, seed: int, noise_deg: float = 0.5) -> list[Pair]:
    """A made-up swing at random headings."""
    random = np.random.default_rng(seed)
    headings = random.uniform(0.0, 360.0, count)
    truth = Coefficients(*random.normal(0.0, 2.0, 5))
    found = deviation_deg(headings, truth) + random.normal(0.0, noise_deg, count)
    return [Pair(float((h + d) % 360.0), float(h)) for h, d in zip(headings, found, strict=True)]


def test_the_published_example_by_hand_to_the_printed_digits() -> None:
    swing = swing_of(pairs_of(PUBLISHED))
    assert swing.by_hand is not None
    # Printed as round numbers: A 1, B 12, C 8, D 5, E 1.5.
    assert [round(value, 6) for value in swing.by_hand] == [1.0, 12.0, 8.0, 5.0, 1.5]
    assert "compass headings" in swing.by_hand_note


def test_the_published_example_by_least_squares() -> None:
    swing = swing_of(pairs_of(PUBLISHED))
    # Derived from the published readings by general least squares; no printed figures.
    assert swing.fitted == pytest.approx((1.0, 11.9397, 7.9598, 5.0, 1.5), abs=5e-5)
    assert swing.rms_deg == pytest.approx(0.051, abs=5e-4)
    assert swing.largest_residual_deg == pytest.approx(0.071, abs=5e-4)
    assert [round(pair.residual_deg, 2) + 0.0 for pair in swing.pairs] == [
        0.04, -0.07, 0.06, -0.01, -0.04, 0.07, -0.06, 0.01,
    ]  # fmt: skip
    assert "B differs most, by 0.06 deg" in why_they_differ(swing)


def test_the_published_example_is_beyond_ten_degrees() -> None:
    swing = swing_of(pairs_of(PUBLISHED))
    assert not swing.within_limit
    assert swing.greatest_deg == pytest.approx(20.1, abs=0.1)
    assert 45 <= swing.greatest_at_deg <= 55
    assert swing_of(pairs_of(PUBLISHED), limit_deg=21.0).within_limit


@pytest.mark.parametrize(("count", "seed"), [(6, 1), (8, 2), (12, 3), (40, 4)])
def test_coefficients_and_standard_errors_are_those_of_a_general_regression(count: int, seed: int) -> None:
    from scipy.optimize import curve_fit

    pairs = drawn(count, seed)
    swing = swing_of(pairs)

    def law(h: np.ndarray, a: float, b: float, c: float, d: float, e: float) -> np.ndarray:
        return a + b * np.sin(h) + c * np.cos(h) + d * np.sin(2 * h) + e * np.cos(2 * h)

    h = np.radians([pair.compass_deg for pair in pairs])
    found, spread = curve_fit(law, h, [pair.deviation_deg for pair in pairs], p0=np.zeros(5))
    assert swing.fitted == pytest.approx(found, abs=1e-6)
    assert swing.errors_deg == pytest.approx(np.sqrt(np.diag(spread)), rel=1e-4)


def test_standard_errors_cover_the_truth_as_often_as_they_should() -> None:
    from scipy.stats import t

    random = np.random.default_rng(7)
    headings = np.arange(0.0, 360.0, 30.0)
    truth = Coefficients(0.5, 2.0, -1.0, 0.7, -0.3)
    times = t.ppf(0.975, len(headings) - 5)
    inside = 0
    for _ in range(100):
        noisy = deviation_deg(headings, truth) + random.normal(0.0, 0.6, len(headings))
        swing = swing_of([Pair((h + d) % 360.0, h) for h, d in zip(headings, noisy, strict=True)])
        assert swing.errors_deg is not None
        inside += abs(swing.fitted.b_deg - truth.b_deg) <= times * swing.errors_deg.b_deg
    # 95 % of 100, three standard deviations of a count; errors half or twice as large give 65 and 100.
    assert 88 <= inside <= 99


def test_five_pairs_have_coefficients_but_no_errors() -> None:
    swing = swing_of(drawn(5, 3))
    assert swing.errors_deg is None
    assert swing.by_hand is None
    assert "these are 5" in swing.by_hand_note


def test_headings_held_as_magnetic_ones_are_taken_so_by_hand() -> None:
    pairs = [Pair(float(h), (h - 4.0 * np.sin(np.radians(h))) % 360.0) for h in range(0, 360, 45)]
    swing = swing_of(pairs)
    assert swing.by_hand is not None
    assert "magnetic headings" in swing.by_hand_note
    assert swing.by_hand.b_deg == pytest.approx(4.0)


def test_the_card_brings_the_aircraft_to_the_heading_it_promises() -> None:
    swing = swing_of(drawn(12, 9))
    for line in swing.card:
        reached = line.steer_deg + float(deviation_deg(line.steer_deg, swing.fitted))
        assert (reached - line.for_deg + 180.0) % 360.0 - 180.0 == pytest.approx(0.0, abs=1e-9)
    assert [line.for_deg for line in swing.card] == [*range(0, 360, 30)]


def test_a_slip_of_the_pen_is_called_doubtful_and_honest_readings_are_not() -> None:
    pairs = drawn(12, 5)
    assert not any(pair.doubtful for pair in swing_of(pairs).pairs)
    pairs[4] = Pair(pairs[4].magnetic_deg, (pairs[4].compass_deg + 10.0) % 360.0)
    assert [place for place, pair in enumerate(swing_of(pairs).pairs) if pair.doubtful] == [4]


def test_a_deviation_across_north_is_the_short_way_round() -> None:
    assert Pair(2.0, 358.0).deviation_deg == 4.0
    assert Pair(358.0, 2.0).deviation_deg == -4.0
    assert Pair(360.0, 0.0).deviation_deg == 0.0


@pytest.mark.parametrize(
    ("pairs", "wrong"),
    [
        ([Pair(0, 0)] * 4, "4 pairs"),
        ([Pair(float(h), float(h)) for h in (0, 5, 10, 15, 20)], "do not tell"),
        ([Pair(float(h), float(h)) for h in (0, 0, 0, 0, 180)], "do not tell"),
        ([*drawn(6, 1), Pair(361.0, 0.0)], "pair 7: magnetic heading 361"),
        ([*drawn(6, 1), Pair(10.0, float("nan"))], "pair 7: compass reading nan"),
        ([*drawn(6, 1), Pair(10.0, 190.0)], "180 deg apart"),
    ],
)
def test_what_cannot_be_a_swing_is_refused(pairs: list[Pair], wrong: str) -> None:
    with pytest.raises(InputError, match=wrong):
        swing_of(pairs)


def test_a_limit_that_is_none_is_refused() -> None:
    with pytest.raises(InputError, match="limit: 0 deg"):
        swing_of(drawn(8, 1), limit_deg=0.0)


def test_a_table_is_read_with_and_without_radios() -> None:
    plain = pairs_from_text("swing.csv", "magnetic_deg,compass_deg\n0,358\n45.5,44\n\n")
    assert plain == {"": [Pair(0.0, 358.0), Pair(45.5, 44.0)]}
    both = pairs_from_text("swing.csv", "compass_deg,radios,magnetic_deg\n358,on,0\n1,Off,0\n")
    assert both == {"on": [Pair(0.0, 358.0)], "off": [Pair(0.0, 1.0)]}


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("", "the file is empty"),
        ("magnetic_deg,compass_deg\n", "no pairs"),
        ("magnetic_deg;compass_deg\n1;2\n", "line 1: cells apart by semicolons"),
        ("magnetic_deg,compas_deg\n1,2\n", "did you mean 'compass_deg'"),
        ("magnetic_deg\n1\n", "line 1: columns magnetic_deg"),
        ("\nmagnetic_deg,compass_deg\n0,1\n45,5,44\n", "line 4: 3 cells"),
        ('magnetic_deg,compass_deg\n0,1\n"45,5",44\n', "line 3, magnetic_deg: '45,5' has a comma"),
        ("magnetic_deg,compass_deg\n0,361\n", "line 2, compass_deg: 361"),
        ("magnetic_deg,compass_deg\n0,nan\n", "line 2, compass_deg: 'nan' is no number"),
        ("magnetic_deg,compass_deg\n0,N\n", "line 2, compass_deg: 'N' is no number"),
        ("magnetic_deg,compass_deg,radios\n0,1,both\n", "line 2, radios: 'both'"),
    ],
)
def test_a_wrong_table_is_told_with_its_line(text: str, wrong: str) -> None:
    with pytest.raises(InputError, match=wrong):
        pairs_from_text("swing.csv", text)
