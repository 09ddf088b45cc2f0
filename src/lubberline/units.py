"""Factors to SI, exact by definition unless stated otherwise."""

import math

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
