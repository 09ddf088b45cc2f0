"""Alpha of data with gaps, against the values documented with the package `pingouin` 0.7.0.

Its documentation says that they were checked against the R package psych. The data sets are fetched by
`tools/write/fetch_published_answers.py` and kept outside the tree; without them and without a network these
tests are skipped, and where the environment variable `CI` is set they must run.
"""

import os

import numpy as np
import pytest

from lubberline.classroom import reliability
from tools.write.fetch_published_answers import CannotFetch, published_answers


def rows_of(name: str) -> list[dict[str, str]]:
    try:
        return published_answers(name)
    except CannotFetch as why:
        if os.environ.get("CI"):
            raise
        pytest.skip(f"no published answers here: {why}")


def with_gaps() -> np.ndarray:
    rows = rows_of("cronbach_wide_missing")
    return np.array([[float(cell or "nan") for cell in row.values()] for row in rows])


def test_alpha_takes_gaps_pair_by_pair() -> None:
    """Documented: 0.732660835, interval 0.435 to 0.909, 12 persons by 11 questions."""
    points = with_gaps()
    assert points.shape == (12, 11)
    assert np.isnan(points).any()
    found = reliability.alpha(points)
    assert found == pytest.approx(0.732660835, abs=5e-10)
    assert reliability.feldt(found, 12, 11) == pytest.approx((0.435, 0.909), abs=5e-4)


def test_alpha_of_those_without_gaps() -> None:
    """Documented: 0.801694915, interval 0.581 to 0.933, persons with gaps left out."""
    points = with_gaps()
    whole = points[np.isfinite(points).all(axis=1)]
    found = reliability.alpha(whole)
    assert found == pytest.approx(0.801694915, abs=5e-10)
    # Its interval counts all 12 persons by the degrees of freedom, as its documentation's numbers show.
    low, high = reliability.feldt(found, len(whole), 11)
    assert low < 0.581
    assert reliability.feldt(found, 12, 11) == pytest.approx((0.581, 0.933), abs=5e-4)
    assert high > found


def test_alpha_of_points_that_are_not_0_or_1() -> None:
    """Documented: 0.591718849, interval 0.195 to 0.840."""
    rows = rows_of("cronbach_alpha")
    persons = sorted({row["Subj"] for row in rows})
    items = sorted({row["Items"] for row in rows})
    points = np.full((len(persons), len(items)), np.nan)
    for row in rows:
        points[persons.index(row["Subj"]), items.index(row["Items"])] = float(row["Scores"])
    found = reliability.alpha(points)
    assert found == pytest.approx(0.591718849, abs=5e-10)
    assert reliability.feldt(found, len(persons), len(items)) == pytest.approx((0.195, 0.840), abs=5e-4)
