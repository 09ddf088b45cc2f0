"""Factors to SI, exact by definition unless stated otherwise."""

import math
import re

DEG = math.pi / 180.0
RAD_PER_RPM = 2.0 * math.pi / 60.0
KT_MPS = 1852.0 / 3600.0
NM_M = 1852.0
FT_M = 0.3048
FPM_MPS = 0.3048 / 60.0
# Conventional inch of mercury at 0 C, rounded to seven figures.
INHG_PA = 3386.389
HOUR_S = 3600.0
QUARTER_HOUR_S = 900.0

# WGS 84: NGA.STND.0036 (2014), table 3.1: semi-major axis and reciprocal flattening (defining values).
SEMI_MAJOR_AXIS_M = 6378137.0
FLATTENING = 1.0 / 298.257223563
ECCENTRICITY_SQUARED = FLATTENING * (2.0 - FLATTENING)

# WGS 84, same table: mean angular velocity; 15.041067 deg an hour (the sidereal rate).
EARTH_RATE_RAD_S = 7.292115e-5

# Standard gravity, 3rd CGPM (1901), exact.
STANDARD_GRAVITY_MPS2 = 9.80665

# At the poles the level frame and every heading in it are undefined.
GREATEST_LATITUDE_DEG = 89.9

# Suctions in a text: '4.9 inHg', '4.5 to 5.5 inHg', '3.7 instead of 5.1 inHg'.
_SUCTIONS = re.compile(
    r"(?:\d+(?:\.\d+)? (?:to|and|or|instead of) )*\d+(?:\.\d+)? (?:inHg|inches of mercury)\b"
)
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def hpa_of(inhg: float) -> float:
    """A pressure in whole hectopascals, so that a tenth of an inch of mercury stays to be seen."""
    return float(round(inhg * INHG_PA / 100.0))


def hpa_text(text: str) -> str:
    """A text with its pressures in hectopascals instead of inches of mercury."""
    if "inHg" not in text and "inches of mercury" not in text:
        return text
    text = _SUCTIONS.sub(
        lambda found: _NUMBER.sub(lambda one: f"{hpa_of(float(one[0])):.0f}", found[0]), text
    )
    return text.replace("inHg", "hPa").replace("inches of mercury", "hectopascals")
