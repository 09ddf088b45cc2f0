"""Apparent and transport wander: rates, changes, readings, times."""

from __future__ import annotations

import math

from lubberline.questions import forms
from lubberline.questions.believed import under, wander_deg_h
from lubberline.questions.model import Drawn, ItemModel, Words, Worked
from lubberline.simulation.wander import wander

THEORY = (
    "apparent wander 15 sin(latitude), transport wander (kt / 60) tan(latitude): texts on gyroscopic theory"
)
KERNEL = "the engine's wander at a place: sidereal rate, WGS 84"
PERFECT = "The heading indicator has no friction and no latitude balance."
EARTH_IDEAS = ("same-wander-everywhere", "no-wander-at-poles", "falls-in-both-hemispheres", "no-earth-wander")
EARTH_FEEDBACK = {
    "same-wander-everywhere": "At {latitude} it is 15 × {sine} = {rate_size}° an hour.",
    "no-wander-at-poles": "At {latitude} the sine is {sine}, so the rate is {rate_size}° an hour.",
    "falls-in-both-hemispheres": "At {latitude} the reading {rate}.",
    "no-earth-wander": "At {latitude} the reading of even a perfect instrument {rate}.",
}


def _earth_facts(latitude_deg: float) -> dict[str, str]:
    rate = wander_deg_h(latitude_deg)
    return {
        "latitude": forms.latitude(latitude_deg),
        "sine": f"{abs(math.sin(math.radians(latitude_deg))):.2f}",
        "rate": forms.rate(rate),
        "rate_size": f"{abs(rate):.1f}",
        "direction": "falls" if rate < 0.0 else "rises",
        "side": "north" if latitude_deg > 0.0 else "south",
    }


def _engine_deg_h(latitude_deg: float, east_kt: float = 0.0) -> float:
    return wander(latitude_deg, abs(east_kt), 90.0 if east_kt >= 0.0 else 270.0).total_deg_h


def _rate(d: Drawn) -> Worked:
    latitude = d["latitude_deg"]
    return Worked(
        wander_deg_h(latitude),
        under(EARTH_IDEAS, lambda laws: wander_deg_h(latitude, laws=laws)),
        _earth_facts(latitude),
        signs=int(latitude < 0.0),
    )


RATE = ItemModel(
    id="wander-rate",
    topic="wander",
    level="apply",
    kind="choice",
    draw=lambda draw: {"latitude_deg": draw.latitude_deg(15, 75)},
    work=_rate,
    second=lambda d: _engine_deg_h(d["latitude_deg"]),
    second_way=KERNEL,
    words=Words(
        stem="An aircraft stands still at {latitude}. " + PERFECT + " What does its reading do?",
        reason="Apparent wander is 15° an hour × sin {latitude} = 15 × {sine} = {rate_size}° an hour; "
        "{side} of the equator the reading {direction}.",
        feedback=EARTH_FEEDBACK,
    ),
    source=THEORY,
    steps=2,
    form=forms.RATE,
    apart=1.0,
    agree=0.15,
)

MODELS = (RATE,)
