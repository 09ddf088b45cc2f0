"""The quick sums against published figures: texts on gyroscopic theory for pilots."""

import numpy as np
import pytest

from lubberline import InputError
from lubberline.instruments.heading_indicator.gyro import wander
from lubberline.simulation.aircraft import HeadingIndicatorEntry
from lubberline.simulation.heading_indicator.settings import KNOT_S, SLOW_PART_S, wander_knots


@pytest.mark.parametrize(
    ("latitude_deg", "rate_deg_h"),
    [(0, 0.0), (15, -3.893), (30, -7.520), (45, -10.636), (60, -13.026), (75, -14.528), (-45, 10.636)],
)
def test_apparent_wander(latitude_deg: float, rate_deg_h: float) -> None:
    assert wander(latitude_deg).earth_deg_h == pytest.approx(rate_deg_h, abs=6e-4)


@pytest.mark.parametrize(
    ("speed_kt", "track_deg", "latitude_deg", "rate_deg_h"),
    [
        (120, 90, 45, -2.0),
        (120, 90, 60, -3.464),
        (300, 90, 60, -8.660),
        (480, 90, 60, -13.856),
        (240, 270, 50, 4.767),
        (300, 0, 60, 0.0),
    ],
)
def test_transport_wander(speed_kt: float, track_deg: float, latitude_deg: float, rate_deg_h: float) -> None:
    """Texts take one minute of arc as 1 NM; WGS 84 differs by up to 0.6%."""
    assert wander(latitude_deg, speed_kt, track_deg).travel_deg_h == pytest.approx(
        rate_deg_h, rel=0.007, abs=1e-9
    )


def test_worked_example_of_a_balance_for_the_wrong_hemisphere() -> None:
    """Balance for 30 S, at 60 N: 7.5 + 13 = 20.5 deg/h standing; 15.5 seen, so travel gives 5 the other way.

    Worked example in a public text on gyroscopic theory (rates at 15 deg/h); westbound about 173 kt.
    """
    standing = -wander(60.0).earth_deg_h - wander(-30.0).earth_deg_h * -1.0
    assert standing == pytest.approx(20.5, abs=0.06)
    assert wander(60.0, 173.2, 270.0).travel_deg_h == pytest.approx(5.0, abs=0.05)


@pytest.mark.parametrize(
    "numbers", [(91, 0, 0), (float("nan"), 0, 0), (45, -1, 0), (45, 0, 361), (89.95, 0, 0)]
)
def test_out_of_range_is_refused(numbers: tuple[float, float, float]) -> None:
    with pytest.raises(InputError, match="give"):
        wander(*numbers)


def test_the_slow_part_of_real_wander_keeps_its_spread_and_forgets_at_its_rate() -> None:
    """Ornstein and Uhlenbeck (1930): a steady spread; the time constant leaves 1/e of the correlation.

    Of 400 draws the spread is known within 3.5%, three of these within 11%.
    """
    entry = HeadingIndicatorEntry(random_wander_deg_15min=1.5)
    later = round(SLOW_PART_S / KNOT_S)
    drawn = np.array([wander_knots(entry, 61, seed) for seed in range(400)])
    for minute in (0, later, 60):
        assert drawn[:, minute].std() == pytest.approx(1.5, rel=0.11)
    assert np.corrcoef(drawn[:, 0], drawn[:, later])[0, 1] == pytest.approx(np.exp(-1.0), abs=0.15)
