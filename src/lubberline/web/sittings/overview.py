"""The page of one sitting, while it runs and after."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from lubberline.classroom.records import Sitting
from lubberline.store.database.outage import WORDS
from lubberline.store.school import School
from lubberline.store.settings import SIGNED_BY
from lubberline.web.framed import framed
from lubberline.web.heard import Heard, Phones
from lubberline.web.kit import shared
from lubberline.web.records import away
from lubberline.web.sittings import roll
from lubberline.web.sittings.join import join_base
from lubberline.web.sittings.late import late_rows
from lubberline.web.sittings.shown import asked_in


def state_of(sitting: Sitting) -> str:
    """How a sitting stands, in a word or two."""
    if not sitting.closed_utc:
        return "open"
    return "closed, marks shown" if sitting.phase == "shown" else "closed"


def now_given(request: Request, school: School, sitting: Sitting) -> dict[str, Any]:
    """What changes while a sitting runs."""
    found = roll.roll_of(school, sitting)
    heard: Heard = shared(request).heard
    runs = not (sitting.closed_utc or sitting.on_paper)
    working = {row["id"] for row in found.rows if not row["over"]}
    why = away(school) if runs else None
    phones = heard.of(sitting.id, school.places(sitting.id)) if runs else Phones()
    return {
        "sitting": sitting,
        "state": state_of(sitting),
        "rows": found.rows,
        "has_forms": bool(sitting.forms),
        "ended": sum(row["ended"] for row in found.rows),
        "struck": found.struck,
        "late": late_rows(school, sitting),
        "silent": phones.silent & working,
        "waiting": phones.waiting,
        "away": WORDS[why][0] if why else "",
        # While a paper runs this page is often on the projector for its code.
        "shows_marks": bool(sitting.closed_utc or sitting.on_paper or sitting.kind == "lesson"),
    }


def sitting_page(
    request: Request, school: School, sitting: Sitting, more: dict[str, Any] | None = None
) -> Response:
    """The page of a sitting; `more` says what came of something that was sent."""
    names = {one.id: one.name for one in school.students(sitting.group)}
    address = f"{join_base(request)}/join?code={sitting.code}"
    here = {place.student for place in school.places(sitting.id)}
    joins = bool(sitting.code and not sitting.closed_utc and not sitting.on_paper)
    given = {
        **now_given(request, school, sitting),
        "group": next((one.title for one in school.groups() if one.id == sitting.group), ""),
        "forms": sitting.forms,
        "questions": len(asked_in(sitting, sitting.forms[0] if sitting.forms else "")),
        "trail": [(one, names.get(one.student, "")) for one in school.corrections(sitting.id)],
        "keys": [asked.key for asked in sitting.asked],
        "absent": [one for one in school.students(sitting.group) if one.id not in here],
        "joins": joins,
        "address": address,
        "only_here": not (shared(request).door.lan or shared(request).door.behind),
        "code": roll.code_in_parts(sitting.code),
        "picture": roll.picture_of(address) if joins else "",
        "signed_by": school.setting(SIGNED_BY),
        "class_said": request.query_params.get("class", "") if not here else "",
        "bad_lines": (),
        "good_lines": 0,
    }
    return framed(request, "sitting.html", **{**given, **(more or {})})
