"""The headline numbers of a flight: as lines of text, and the drift by cause as bars."""

import math
from typing import Any

import numpy as np

from lubberline.publish.figures.causes import fills
from lubberline.publish.figures.svg import Drawing, wrapped_lines
from lubberline.publish.words import decimals_for, degrees, many, moment, number, until
from lubberline.simulation.flown import Flown, cause_name

BAR_PITCH_PX = 21.0


def drift_decimals(largest_deg: float) -> int:
    """Decimals of a table of drifts: tenths, except for a very good instrument."""
    return 1 if largest_deg >= 0.5 else 2


def drift_rows(summary: dict[str, Any]) -> list[tuple[str, float]]:
    """Drift in 15 min by cause, the largest first, the total last; zeros after rounding are omitted."""
    drift = {name: float(value) for name, value in (summary.get("drift_deg_15min") or {}).items()}
    total = drift.pop("total", drift.pop("total_deg", 0.0))
    decimals = drift_decimals(max(map(abs, (*drift.values(), total))))
    rows = [(name, value) for name, value in drift.items() if round(value, decimals) != 0.0]
    rows.sort(key=lambda row: -abs(row[1]))
    return [*rows, ("total", total)]


def worst_row(flown: Flown) -> int:
    """The row of the heading indicator's worst error."""
    return int(np.nanargmax(np.abs(np.asarray(flown.trace["heading_error_deg"], dtype=np.float64))))


def worst_line(flown: Flown) -> str:
    """The worst error of the heading indicator, its sense, its moment and its main cause."""
    worst = flown.summary.get("worst_error_deg")
    if worst is None:
        return "Worst error –"
    row = worst_row(flown)
    at = moment(float(flown.trace["time_s"][row]), flown.motion.duration_s)
    decimals = decimals_for(abs(worst))
    sense = "high" if worst > 0.0 else "low"
    reads = f", reads {sense}" if round(worst, decimals) != 0.0 else ""
    total = float(flown.ledger["total_deg"][row])
    shares = [
        (float(flown.ledger[name][row]) * math.copysign(1.0, total), name)
        for name in flown.ledger
        if name not in ("time_s", "total_deg")
    ]
    share, cause = max(shares)
    mostly = f", mainly {cause_name(cause)}" if share > 0.0 else ""
    if abs(total) > 180.0:
        mostly += f" ({degrees(total, 0)} including whole turns)"
    return f"Worst error {degrees(worst, decimals)}{reads}, at {at}{mostly}"


def compass_line(flown: Flown) -> str:
    """The compass: its greatest error, and its median in level flight; '' without a compass."""
    error = np.asarray(flown.trace["compass_error_deg"], dtype=np.float64)
    if not np.isfinite(error).any():
        return ""
    level = (np.abs(flown.trace["bank_deg"]) < 5.0) & (np.abs(flown.trace["pitch_deg"]) < 5.0)
    largest = float(error[np.nanargmax(np.abs(error))])
    text = f"Compass error up to {degrees(largest, 0)}"
    calm = error[level & np.isfinite(error)]
    if calm.size:
        text += f"; in level flight {number(float(np.median(np.abs(calm))))}° (median)"
    return text


def fact_lines(flown: Flown) -> list[str]:
    """The main facts of a flight, one per line."""
    summary = flown.summary
    settings = many(len(summary.get("settings") or ()), "setting")
    lines = [
        worst_line(flown),
        until(3, summary.get("interval_3deg_min")),
        until(5, summary.get("interval_5deg_min")),
        f"{settings} in {number(summary.get('duration_min'), 0)} min",
        compass_line(flown),
    ]
    for key, words in (
        ("sparse_share", "Fixes too far apart to find the bank"),
        ("slow_share", "Slower than 20 kt"),
    ):
        share = float(summary.get(key) or 0.0)
        if share >= 0.005:
            lines.append(f"{words}: {share * 100.0:.0f} % of the time")
    return [line for line in lines if line]


def draw_facts(drawing: Drawing, prefix: str, flown: Flown, left: float, top: float, width: float) -> float:
    """Lines of text, and below them the bars; returns the lower edge of what was drawn."""
    y = top + 6.0
    for line in fact_lines(flown):
        for part in wrapped_lines(line, width, 15.0, 2):
            drawing.text(left, y + 8, part, "t", size=15)
            y += 20.0
    return _draw_drift(drawing, prefix, drift_rows(flown.summary), left, y + 14.0, width)


def _draw_drift(
    drawing: Drawing, prefix: str, rows: list[tuple[str, float]], left: float, y: float, width: float
) -> float:
    drawing.text(left, y + 6, "Drift in 15 min, by cause", "b", size=15)
    reach = max([abs(value) for _, value in rows] + [1e-3])
    high = max(0.0, *(value for _, value in rows), 1e-3)
    low = min(0.0, *(value for _, value in rows), -1e-3)
    numbers_at = left + 246.0
    room = width - 262.0
    zero = left + 262.0 - low / (high - low) * room
    decimals = drift_decimals(reach)
    y += 8.0
    for name, value in rows:
        y += BAR_PITCH_PX
        kind = "b" if name == "total" else "t"
        drawing.text(left + 26, y, cause_name(name), kind, size=14)
        drawing.text(numbers_at, y, degrees(value, decimals), kind, size=14, anchor="end")
        length = abs(value) / (high - low) * room
        begin = zero if value > 0.0 else zero - length
        if name == "total":
            drawing.line(left, y - 4, left + 18, y - 4, "total")
            drawing.add(
                f'<rect class="totalbar" x="{begin:.1f}" y="{y - 8:.1f}" width="{length:.1f}" height="7"/>'
            )
        else:
            drawing.swatch(left, y - 4, fills(prefix, name))
            drawing.box((begin, y - 11.0, length, 13.0), "bar", fills(prefix, name))
    drawing.line(zero, y - BAR_PITCH_PX * len(rows) + 6, zero, y + 6, "axis")
    return y + 8.0
