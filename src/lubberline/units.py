"""Factors to SI, each once, exact by definition unless said."""

from __future__ import annotations

import math

DEG = math.pi / 180.0
RAD_PER_RPM = 2.0 * math.pi / 60.0
KT_MPS = 1852.0 / 3600.0
NM_M = 1852.0
FT_M = 0.3048
FPM_MPS = 0.3048 / 60.0
# Conventional inch of mercury at 0 C, rounded at the seventh figure.
INHG_PA = 3386.389
HOUR_S = 3600.0
QUARTER_HOUR_S = 900.0
