"""Numbers as a pilot reads them: signs, minutes, dates."""

import math
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

LONG_FLIGHT_S = 3.0 * 3600.0


def number(value: float | None, decimals: int = 1) -> str:
    """A number with a true minus sign and no minus zero; an en dash for none."""
    if value is None or not math.isfinite(value):
        return "–"
    rounded = round(value, decimals) + 0.0
    return f"{rounded:.{decimals}f}".replace("-", "−")


def signed(value: float | None, decimals: int = 1) -> str:
    """As `number`, with a plus sign for positive values."""
    text = number(value, decimals)
    positive = value is not None and math.isfinite(value) and round(value, decimals) > 0.0
    return f"+{text}" if positive else text


def degrees(value: float | None, decimals: int = 1) -> str:
    """A signed angle with its degree sign."""
    text = signed(value, decimals)
    return text if text == "–" else f"{text}°"


def decimals_for(largest: float) -> int:
    """Decimals for values up to `largest`: tenths, or hundredths."""
    return 1 if largest >= 1.0 else 2


def moment(time_s: float, duration_s: float) -> str:
    """A moment of the flight, unbroken: minutes, or hours and minutes in flights over three hours."""
    if duration_s <= LONG_FLIGHT_S:
        tenths = duration_s < 600.0
        return f"{time_s / 60.0:.1f}\u00a0min" if tenths else f"{time_s / 60.0:.0f}\u00a0min"
    minutes = round(time_s / 60.0)
    return f"{minutes // 60}:{minutes % 60:02d}\u00a0h"


def day(start_utc: datetime) -> str:
    """The start of the flight as a date and a time of day."""
    start = start_utc.astimezone(UTC)
    return f"{start.day} {start:%B %Y, %H:%M} UTC"


def many(count: int, one: str, several: str | None = None) -> str:
    """A count with its noun: '1 setting', '3 settings', '1,774 settings'."""
    return f"{count:,} {one if count == 1 else several or one + 's'}"


def minutes(value_min: float) -> str:
    """A span of time, with tenths under ten minutes."""
    return f"{value_min:.0f} min" if value_min >= 10.0 else f"{value_min:.1f} min"


def until(limit_deg: int, interval: Mapping[str, Any] | None) -> str:
    """How long until the error first exceeds a limit, from the summary's shortest and median time."""
    shortest = interval.get("shortest") if interval else None
    if shortest is None:
        return f"Set correctly: within {limit_deg}° for the whole flight"
    start = f"Set correctly: exceeds {limit_deg}° after {minutes(shortest)} at the earliest"
    median = interval.get("median") if interval else None
    ends = "usually not before the end of the flight" if median is None else f"median {minutes(median)}"
    return f"{start}, {ends}"


def typeset(text: str) -> str:
    """A sentence of plain characters with true minus signs before its numbers."""
    return re.sub(r"(?<![\w-])-(?=\d)", "−", text)


def shortened(text: str, most: int) -> str:
    """A text of at most `most` characters, on one line, cut off with an ellipsis where it is longer."""
    line = " ".join(text.split())
    return line if len(line) <= most else line[: most - 1].rstrip() + "…"


def first_of(lines: list[str], most: int, longest: int = 200) -> list[str]:
    """The first lines, each shortened, plus 'and N more' if some are omitted."""
    kept = [shortened(line, longest) for line in lines[:most]]
    return [*kept, f"and {len(lines) - most} more"] if len(lines) > most else kept
