"""The swing of an aircraft's compass on its page: pairs, coefficients, and the deviation card."""

import json
from typing import Any

from lubberline.errors import InputError
from lubberline.publish.reports.deviation_card import RADIOS, deviation_card_pdf
from lubberline.store.fleet import Craft, home_of
from lubberline.store.school import School
from lubberline.store.settings import AIRCRAFT_SWING as SWING
from lubberline.store.texts import decoded
from lubberline.upkeep.swing import LIMIT_DEG, Swing, pairs_from_text, swing_of, why_they_differ
from lubberline.web.refusals import Refused

SAMPLE = "magnetic_deg,compass_deg\n000,\n045,\n090,\n135,\n180,\n225,\n270,\n315,\n"
GREATEST_TEXT = 20_000


def kept_swing(school: School, craft: Craft) -> dict[str, str]:
    """The saved pairs, day and limit of an aircraft; '' for no pairs."""
    # The program never saves one that cannot be read; such a one has no pairs.
    found = decoded(school.settings.get(SWING + craft.key), dict[str, str]) or {}
    return {"pairs": "", "day": "", "limit": f"{LIMIT_DEG:g}", **found}


def swings_of(kept: dict[str, str]) -> dict[str, Swing]:
    """The swings in the typed text, by radios.

    Raises:
        InputError: an error in the pairs or the limit.
    """
    if len(kept["pairs"]) > GREATEST_TEXT:
        raise InputError("swing", "the text is too long", "give one row for each heading")
    try:
        limit = float(kept["limit"] or LIMIT_DEG)
    except ValueError:
        raise InputError(
            "limit", f"'{kept['limit'][:30]}' is not a number", "enter degrees, such as 10"
        ) from None
    return {
        radios: swing_of(pairs, limit) for radios, pairs in pairs_from_text("swing", kept["pairs"]).items()
    }


def keep_swing(school: School, craft: Craft, fields: dict[str, str]) -> None:
    """Saves the pairs of a swing.

    Raises:
        InputError: an error in them; nothing is saved then.
    """
    kept = {name: fields.get(name, "").strip() for name in ("pairs", "day", "limit")}
    kept["day"] = kept["day"][:40]
    if kept["pairs"]:
        swings_of(kept)
    school.settings.put(SWING + craft.key, json.dumps(kept) if kept["pairs"] else "")


def swing_view(school: School, craft: Craft) -> dict[str, Any]:
    """The data of the saved swing for the page."""
    kept = kept_swing(school, craft)
    if not kept["pairs"]:
        return {"typed": {**kept, "pairs": SAMPLE}, "swings": []}
    try:
        swings = swings_of(kept)
    except InputError:
        # Saved under older rules; the page shows the text to correct and send again.
        swings = {}
    views = [
        {
            "title": RADIOS[radios],
            "swing": swing,
            "rows": swing.coefficients,
            "differ": why_they_differ(swing),
        }
        for radios, swing in swings.items()
    ]
    return {"typed": kept, "swings": views}


def card_file(school: School, craft: Craft) -> bytes:
    """The deviation card.

    Raises:
        Refused: 404, when there is no swing.
    """
    kept = kept_swing(school, craft)
    if not kept["pairs"]:
        raise Refused(404, "swing", "this aircraft has none", "enter a compass swing first")
    return deviation_card_pdf(swings_of(kept), craft.name, kept["day"], home_of(school).paper)
