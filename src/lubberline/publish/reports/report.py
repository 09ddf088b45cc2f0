"""The one-page report of a flight as a PDF that is tagged for screen readers."""

from typing import Any

from lubberline.flight.home import NO_HOME, Home
from lubberline.publish.figures.facts import drift_decimals, drift_rows, fact_lines
from lubberline.publish.figures.figure import description, figure_svg, route_svg, subtitle
from lubberline.publish.pdf import pdf
from lubberline.publish.words import degrees, first_of, moment, shortened, typeset
from lubberline.simulation.flown import Flown, cause_name

SETTINGS_SHOWN = 5
# A quarter of a millimetre apart on the page.
PAPER_POINTS = 500
LINES_SHOWN = 5
LONGEST_LINE = 190
ASSUMPTIONS = (
    "The dynamics of the gyro, the Earth and the compass card are computed; friction, erection and stops "
    "follow simple assumed laws.",
    "Sizes, masses and frictions are engineering choices for a small instrument, not measurements of one.",
    "Attitude is that of coordinated flight. Errors are indicated minus reference: positive reads high.",
)


def _drift(flown: Flown) -> dict[str, Any]:
    rows = drift_rows(flown.summary)
    decimals = drift_decimals(max(abs(value) for _, value in rows))
    return {
        "head": ["Cause", "in 15 min"],
        "rows": [[cause_name(name), degrees(value, decimals)] for name, value in rows],
    }


def _settings(flown: Flown) -> tuple[str, dict[str, Any]]:
    """The settings in order of time; if there are too many, those with the largest errors."""
    settings = list(flown.summary.get("settings") or ())
    shown = sorted(settings, key=lambda setting: -abs(setting["error_deg"]))[:SETTINGS_SHOWN]
    shown.sort(key=lambda setting: setting["time_s"])
    title = "Settings and the error at each"
    if len(settings) > len(shown):
        title = f"Settings: the {len(shown)} with the largest errors of {len(settings)}"
    causes = ("error_deg", "deviation_deg", "turning_deg", "acceleration_deg", "misreading_deg")
    rows = [
        [
            moment(float(setting["time_s"]), flown.motion.duration_s),
            str(setting["from"]),
            *(degrees(setting.get(cause)) for cause in causes),
        ]
        for setting in shown
    ]
    head = ["At", "Set from", "Error", "deviation", "turning", "acceler.", "misread"]
    return title, {"head": head, "rows": rows}


def _made_with(flown: Flown) -> str:
    summary = flown.summary
    versions = ", ".join(f"{name} {version}" for name, version in (summary.get("versions") or {}).items())
    parts = (
        f"Errors against {summary.get('reference', 'magnetic')} heading",
        f"magnetic field by {summary.get('field_model')}",
        f"seed {summary.get('seed')}",
    )
    return "; ".join([*parts, versions]) + "."


def report_data(flown: Flown) -> dict[str, Any]:
    """All text of the report, ready to be set; user text shortened to fit a page."""
    summary = flown.summary
    settings_title, settings = _settings(flown)
    said = [f"Warning: {line}" for line in summary.get("warnings") or ()]
    said += list(summary.get("notes") or ())
    return {
        "title": shortened(str(summary.get("title") or flown.motion.title), 90) or "A flight",
        "subtitle": subtitle(flown),
        "sentence": typeset(shortened(str(summary.get("sentence") or ""), 420)),
        "drift": _drift(flown),
        "facts": fact_lines(flown),
        "settings_title": settings_title,
        "settings": settings,
        "notes": first_of(said, LINES_SHOWN, LONGEST_LINE),
        "assumptions": list(ASSUMPTIONS),
        "cautions": " ".join(summary.get("cautions") or ()),
        "made_with": _made_with(flown),
        "plots_alt": shortened(f"Headings, and the error by cause over time. {description(flown)}", 1500),
        "route_alt": "The route, north up.",
    }


def _ledger_height(data: dict[str, Any]) -> float:
    """A taller ledger if there is less text; the typesetter shrinks the whole figure if necessary."""
    lines = len(data["settings"]["rows"]) + 1.5 * len(data["notes"]) + max(0, len(data["drift"]["rows"]) - 8)
    return max(260.0, 430.0 - 18.0 * lines)


def report_pdf(flown: Flown, home: Home = NO_HOME) -> bytes:
    """A flight as one page.

    Tagged, with text alternatives, as PDF/UA-1; the same flight gives the same bytes.
    """
    data = report_data(flown)
    pictures = {
        "plots": figure_svg(
            flown,
            ("plots",),
            dark=False,
            ledger_height=_ledger_height(data),
            most=PAPER_POINTS,
            suction=home.suction,
        ),
        "route": route_svg(flown),
    }
    return pdf(("report.typ",), data, pictures, paper=home.paper)
