"""A compass swing: from pairs of magnetic heading and compass reading to coefficients, limits and a card.

Deviation = magnetic heading less compass reading, east positive. Two ways to the five coefficients stand
side by side. Least squares weighs every pair alike and takes h as the compass read; the hand method takes
each coefficient from a few of eight headings. On the same swing both have A, D and E alike, while B and C
may rightly differ: by hand they rest on the two headings on their axis alone, by least squares on all.

Sources: NGA, Handbook of Magnetic Compass Adjustment (2004), ch. V; limits in 14 CFR 25.1327 and, as it
stood, 23.1327: no more than 10 deg on any heading.

For teaching: a compass in service is swung, and its card signed, by those licensed to do so.
"""

from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import msgspec
import numpy as np

from lubberline.angles import rose_deg, wrapped_deg
from lubberline.arrays import Bools, Floats
from lubberline.csvfile import number_of, table_of
from lubberline.errors import InputError, in_range
from lubberline.instruments.compass.deviation import (
    HAND_HEADINGS_DEG,
    CardLine,
    Coefficients,
    coefficients_by_hand,
    correction_card,
    deviation_deg,
    terms_of,
)
from lubberline.textfile import text_of

# 14 CFR 25.1327(a), and 23.1327(a) as it stood: level flight, any heading.
LIMIT_DEG = 10.0
LEAST_PAIRS = 5
GREATEST_DEVIATION_DEG = 60.0
# How far from a nominal heading a pair may stand and still be taken for it, by hand.
NEAR_DEG = 3.0
# A pair is called doubtful when chance would throw one of all so far out once in a hundred swings.
DOUBTFUL_CHANCE = 0.01
TERMS = len(Coefficients._fields)


class Pair(NamedTuple):
    """The aircraft on a magnetic heading, and what the compass read there; both 0 to 360."""

    magnetic_deg: float
    compass_deg: float

    @property
    def deviation_deg(self) -> float:
        """Magnetic less compass, in (-180, 180], east positive."""
        return wrapped_deg(self.magnetic_deg - self.compass_deg)


class SwungPair(msgspec.Struct, frozen=True):
    """A pair compared with the fit.

    Attributes:
        magnetic_deg: where the aircraft pointed.
        compass_deg: what the compass read.
        deviation_deg: measured.
        fitted_deg: by the coefficients of least squares.
        residual_deg: measured less fitted.
        doubtful: too far out to be chance; look at the reading again.
    """

    magnetic_deg: float
    compass_deg: float
    deviation_deg: float
    fitted_deg: float
    residual_deg: float
    doubtful: bool = False


class Swing(msgspec.Struct, frozen=True):
    """The result of a swing.

    Attributes:
        pairs: each compared with the fit, in the order given.
        fitted: coefficients by least squares.
        errors_deg: standard errors of those; none when five pairs leave nothing over to tell.
        by_hand: coefficients by the eight-heading method; none when the pairs are not those eight.
        by_hand_note: which headings the hand method took, or why there is none.
        rms_deg: root mean square of the residuals.
        largest_residual_deg: the largest, without sign.
        greatest_deg: greatest deviation without sign, measured or by the fit on any heading.
        greatest_at_deg: compass heading where that is.
        limit_deg: what it was held against.
        within_limit: whether it meets it.
        card: every 30 deg of magnetic heading.
    """

    pairs: tuple[SwungPair, ...]
    fitted: Coefficients
    errors_deg: Coefficients | None
    by_hand: Coefficients | None
    by_hand_note: str
    rms_deg: float
    largest_residual_deg: float
    greatest_deg: float
    greatest_at_deg: float
    limit_deg: float
    within_limit: bool
    card: tuple[CardLine, ...]

    @property
    def coefficients(self) -> list[tuple[str, float, float | None, float | None]]:
        """Each coefficient: its letter, as fitted, its standard error, and by hand."""
        nothing = (None,) * TERMS
        errors, hand = self.errors_deg or nothing, self.by_hand or nothing
        return list(zip("ABCDE", self.fitted, errors, hand, strict=True))


def _checked(pairs: Sequence[Pair], limit_deg: float) -> None:
    if not 0.0 < limit_deg <= 90.0:
        raise InputError(
            "limit",
            f"{limit_deg:g} deg is out of range",
            "give more than 0, up to 90 deg",
        )
    if len(pairs) < LEAST_PAIRS:
        raise InputError(
            "swing", f"{len(pairs)} pairs", f"give at least {LEAST_PAIRS} pairs spread over the circle"
        )
    for number, pair in enumerate(pairs, start=1):
        for name, value in zip(("magnetic heading", "compass reading"), pair, strict=True):
            in_range(
                f"swing, pair {number}",
                value,
                0.0,
                360.0,
                name + " {:g}",
                "give 0 to 360 deg",
            )
        if abs(pair.deviation_deg) > GREATEST_DEVIATION_DEG:
            raise InputError(
                f"swing, pair {number}",
                f"magnetic {pair.magnetic_deg:g} and compass {pair.compass_deg:g} are "
                f"{abs(pair.deviation_deg):g} deg apart",
                f"look for a writing error; at most {GREATEST_DEVIATION_DEG:g} deg is accepted",
            )


def _by_hand(pairs: Sequence[Pair]) -> tuple[Coefficients | None, str]:
    """The hand method on the eight headings: as the compass read them, or else as the aircraft stood."""
    if len(pairs) != len(HAND_HEADINGS_DEG):
        return (
            None,
            f"the hand method needs exactly the eight headings 0, 45, ... 315; these are {len(pairs)}",
        )
    for name, place in (("compass", 1), ("magnetic", 0)):
        found: dict[float, float] = {}
        for pair in pairs:
            nominal = round(pair[place] / 45.0) * 45.0
            if abs(pair[place] - nominal) <= NEAR_DEG:
                found[rose_deg(nominal)] = pair.deviation_deg
        if len(found) == len(HAND_HEADINGS_DEG):
            return coefficients_by_hand(found), f"the eight headings as {name} headings"
    return None, "the hand method needs the eight headings 0, 45, ... 315; these are different"


def _doubtful(residuals: Floats, leverage: Floats) -> Bools:
    """Pairs whose residual, judged by all others, is beyond chance (externally studentized, Bonferroni)."""
    from scipy.stats import t as student

    spare = len(residuals) - TERMS - 1
    room = 1.0 - leverage
    if spare < 1 or bool((room < 1e-9).any()):
        return np.zeros(len(residuals), dtype=bool)
    others = (float(residuals @ residuals) - residuals**2 / room) / spare
    # A swing on paper may fit to the last digit; a tenth of a degree is never doubtful.
    scale = np.sqrt(np.maximum(others, 0.1**2) * room)
    far = float(student.isf(DOUBTFUL_CHANCE / (2.0 * len(residuals)), spare))
    return np.asarray(np.abs(residuals) > far * scale)


def swing_of(pairs: Sequence[Pair], limit_deg: float = LIMIT_DEG) -> Swing:
    """The coefficients of a swing both ways, how well they fit, whether it meets a limit, and the card.

    Args:
        pairs: five or more, spread over the circle; a heading may be there more than once.
        limit_deg: greatest deviation allowed on any heading.

    Raises:
        InputError: too few pairs or all on one side, a heading out of range, a pair too far apart.
    """
    _checked(pairs, limit_deg)
    compass = np.array([pair.compass_deg for pair in pairs])
    found = np.array([pair.deviation_deg for pair in pairs])
    terms = terms_of(compass)
    if np.linalg.matrix_rank(terms, tol=1e-3) < TERMS:
        raise InputError(
            "swing",
            f"the {len(pairs)} pairs do not tell the five coefficients apart",
            "give pairs spread over the whole circle",
        )
    solved, *_ = np.linalg.lstsq(terms, found)
    residuals = found - terms @ solved
    inverse = np.linalg.inv(terms.T @ terms)
    leverage = np.einsum("ij,jk,ik->i", terms, inverse, terms)
    # Nothing is left over to tell the errors of five pairs by.
    variance = float(residuals @ residuals) / max(len(pairs) - TERMS, 1)
    errors = Coefficients(*np.sqrt(np.diag(inverse) * variance).tolist()) if len(pairs) > TERMS else None
    fitted = Coefficients(*solved.tolist())
    by_hand, note = _by_hand(pairs)
    # The greatest deviation, measured or fitted at any whole degree.
    headings = np.concatenate((compass, np.arange(360.0)))
    sizes = np.abs(np.concatenate((found, deviation_deg(np.arange(360.0), fitted))))
    worst = int(np.argmax(sizes))
    return Swing(
        pairs=tuple(
            SwungPair(*pair, pair.deviation_deg, pair.deviation_deg - left, left, odd)
            for pair, left, odd in zip(
                pairs, residuals.tolist(), _doubtful(residuals, leverage).tolist(), strict=True
            )
        ),
        fitted=fitted,
        errors_deg=errors,
        by_hand=by_hand,
        by_hand_note=note,
        rms_deg=float(np.sqrt(np.mean(residuals**2))),
        largest_residual_deg=float(np.abs(residuals).max()),
        greatest_deg=float(sizes[worst]),
        greatest_at_deg=rose_deg(float(headings[worst])),
        limit_deg=limit_deg,
        within_limit=bool(sizes[worst] <= limit_deg),
        card=correction_card(fitted),
    )


def why_they_differ(swing: Swing) -> str:
    """A sentence on the two sets of coefficients; '' when there is only one."""
    if swing.by_hand is None:
        return ""
    apart = {
        name: abs(by_hand - fitted)
        for name, by_hand, fitted in zip("ABCDE", swing.by_hand, swing.fitted, strict=True)
    }
    worst = max(apart, key=lambda name: apart[name])
    if apart[worst] < 0.005:
        return "Both methods give the same coefficients."
    return (
        f"By hand and by least squares {worst} differs most, by {apart[worst]:.2f} deg. Neither is wrong: by "
        "hand B depends on east and west only and C on north and south only, while least squares uses all "
        "pairs and the compass readings as headings."
    )


COLUMNS = ("magnetic_deg", "compass_deg")
RADIOS = ("on", "off")
GREATEST_PAIRS = 500


def pairs_from_text(source: str, text: str) -> dict[str, list[Pair]]:
    """The pairs of a swing, by 'on' and 'off' for the radios, or under '' where the file does not say.

    Raises:
        InputError: naming line and column, for anything that is not right.
    """
    found: dict[str, list[Pair]] = {}
    for where, cells in table_of(source, text, COLUMNS, ("radios",)):
        radios = cells.get("radios", "").lower()
        if "radios" in cells and radios not in RADIOS:
            raise InputError(f"{where}, radios", f"'{cells['radios'][:40]}'", "write on or off")
        pair = Pair(*(_heading(f"{where}, {name}", cells[name]) for name in COLUMNS))
        found.setdefault(radios, []).append(pair)
    if sum(map(len, found.values())) > GREATEST_PAIRS:
        raise InputError(source, "too many pairs", f"a swing has at most {GREATEST_PAIRS}")
    if not found:
        raise InputError(source, "no pairs", "one row for each heading, under the first row")
    return found


def read_pairs(path: str | Path) -> dict[str, list[Pair]]:
    """As `pairs_from_text`, from a file.

    Raises:
        InputError: when it cannot be read or is not right.
    """
    return pairs_from_text(Path(path).name, text_of(path, "a table of pairs (CSV)"))


def _heading(where: str, cell: str) -> float:
    right = "a heading of 0 to 360"
    return in_range(where, number_of(cell, where, right), 0.0, 360.0, "{:g}", right)
