"""A plan on an aircraft's page: a flight of the list or own waypoints, a day and a limit."""

import base64
import math
from collections.abc import Mapping
from typing import Any

from lubberline.angles import wrapped_deg
from lubberline.flight.home import Home
from lubberline.publish.reports.kneeboard import (
    ZONES,
    chief_causes,
    clock,
    heading,
    kneeboard_pdf,
    plan_sentences,
    plan_svg,
)
from lubberline.store import times
from lubberline.store.fleet import Craft
from lubberline.upkeep.planning import TIMES_SD, plan_of
from lubberline.upkeep.records import OwnWander, Plan
from lubberline.upkeep.routes import parse_day, route_from_text
from lubberline.web.aircraft import verdict
from lubberline.web.aircraft.fleet import catalogue_for, craft_asked
from lubberline.web.catalogue import Choice, chosen
from lubberline.web.kit import (
    Form,
    InputError,
    Request,
    Response,
    digest,
    file,
    get,
    home_for,
    page,
    post,
    records,
    theme_of,
    was_typed,
)

OWN = "own"
GREATEST_TEXT = 200_000
# The form's fields and their first values.
FIELDS = {"flight": "", "text": "", "date": "", "limit": "5", "kt": "100", "altitude": "3000", "wind": ""}
# The lake of the example, from home.
LAKE_NORTH_DEG, LAKE_EAST_DEG = 0.4, 0.9


def sample(home: Home) -> str:
    """Waypoints as an example: from home to a lake and back."""
    at = f"Home,{home.latitude_deg:.2f},{home.longitude_deg:.2f}\n"
    east_deg = wrapped_deg(home.longitude_deg + LAKE_EAST_DEG)
    lake = f"Lake,{home.latitude_deg - home.side * LAKE_NORTH_DEG:.2f},{east_deg:.2f}\n"
    return f"name,latitude_deg,longitude_deg\n{at}{lake}{at}"


def asked_of(fields: Mapping[str, str]) -> dict[str, str]:
    """The fields of the form, with defaults for empty ones."""
    asked = {name: fields.get(name, "").strip() or usual for name, usual in FIELDS.items()}
    # A changed route takes priority over the list.
    return {**asked, "flight": OWN} if was_typed(fields, "text") else asked


def _number(asked: Mapping[str, str], name: str) -> float:
    try:
        value = float(asked[name])
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(
            name, f"'{asked[name][:30]}' is not a number", "use digits, with a point for decimals"
        )
    return value


def planned(
    asked: Mapping[str, str],
    craft: Craft,
    flights: tuple[Choice, ...],
    wander: OwnWander | None,
    home: Home,
) -> Plan:
    """The plan asked for.

    Raises:
        InputError: an error in the route, the day or a number.
    """
    if asked["flight"] == OWN:
        if len(asked["text"]) > GREATEST_TEXT:
            raise InputError("route", "the text is too long", "give waypoints in CSV or GPX, or a legs file")
        name, text = _own_name(asked["text"]), asked["text"]
    else:
        choice = chosen("flight", asked["flight"], flights)
        name, text = f"{choice.name}.toml", choice.read()
    day = parse_day(asked["date"], "date") if asked["date"] else home.local(times.now()).date()
    motion = route_from_text(
        name,
        text,
        day,
        airspeed_kt=_number(asked, "kt"),
        altitude_ft=_number(asked, "altitude"),
        wind=asked["wind"],
        home=home,
    )
    return plan_of(motion, craft.aircraft, wander, _number(asked, "limit"))


def _own_name(text: str) -> str:
    is_xml, is_legs = text.lstrip()[:1] == "<", "[[leg]]" in text
    return "route.gpx" if is_xml else "route.toml" if is_legs else "route.csv"


def plan_view(plan: Plan) -> dict[str, Any]:
    """The data of a plan for the page, except the drawing."""
    return {
        "title": plan.title,
        "sentences": plan_sentences(plan),
        "settings": [
            {
                "at": clock(setting.at_min),
                "leg": setting.leg,
                "expected": setting.expected_deg,
                "spread": TIMES_SD * setting.sd_deg,
                "first": setting.at_min == 0.0,
                "late": not setting.kept,
                "zone": ZONES[setting.zone] or "good",
            }
            for setting in plan.settings
        ],
        "legs": [
            {
                "number": leg.number,
                "from": clock(leg.begin_min),
                "to": clock(leg.end_min),
                "true": heading(leg.true_deg),
                "magnetic": heading(leg.magnetic_deg),
                "steer": heading(leg.steer_deg),
                "drift": leg.drift_deg["total"],
                "spread": TIMES_SD * leg.sd_deg,
                "mostly": chief_causes(leg),
                "zone": ZONES[leg.zone] or "good",
            }
            for leg in plan.legs
        ],
        "notes": [note.replace(" deg", "°") for note in plan.notes],
    }


def _page(
    request: Request,
    craft: Craft,
    asked: dict[str, str],
    plan: Plan | None = None,
    error: InputError | None = None,
) -> Response:
    picture = ""
    if plan is not None:
        svg = plan_svg(plan, theme=theme_of(request)).encode("utf-8")
        picture = f"data:image/svg+xml;base64,{base64.b64encode(svg).decode('ascii')}"
    return page(
        request,
        "aircraft/plan.html",
        error,
        craft=craft,
        asked=asked,
        flights=catalogue_for(request).flights,
        plan=plan_view(plan) if plan else None,
        picture=picture,
        sample=(example := sample(home_for(request))),
        text_shown=digest(asked["text"] or example),
    )


def _plan(request: Request, craft: Craft, asked: dict[str, str]) -> Plan:
    found = verdict.judged_of(records(request), craft)
    flights, wander = catalogue_for(request).flights, verdict.own_wander(craft, found)
    return planned(asked, craft, flights, wander, home_for(request))


def show_plan(request: Request, form: Form | None = None) -> Response:
    """GET /aircraft/KEY/plan: a plan of a flight of the list; POST: of one's own waypoints."""
    craft, asked = craft_asked(request), asked_of(request.query_params if form is None else form)
    try:
        return _page(request, craft, asked, _plan(request, craft, asked))
    except InputError as error:
        return _page(request, craft, asked, error=error)


def take_card(request: Request, form: Form) -> Response:
    """POST /aircraft/KEY/plan/kneeboard.pdf: its card."""
    plan = _plan(request, craft_asked(request), asked_of(form))
    return file("kneeboard.pdf", kneeboard_pdf(plan, home_for(request)))


def _again(request: Request, form: Form, error: InputError | None) -> Response:
    return _page(request, craft_asked(request), asked_of(form), error=error)


ROUTES = [
    get("/aircraft/{key}/plan", show_plan),
    post("/aircraft/{key}/plan", show_plan),
    post("/aircraft/{key}/plan/kneeboard.pdf", take_card, _again),
]
