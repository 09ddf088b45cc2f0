"""Engine speeds of a small piston aeroplane by what it does; common practice, no source."""

from __future__ import annotations

IDLE_RPM = 800.0
TAXI_RPM = 1000.0
CRUISE_RPM = 2400.0
CLIMB_RPM = 2500.0
DESCENT_RPM = 2000.0
