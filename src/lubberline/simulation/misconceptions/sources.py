"""Published places that hold the right facts, as the table of wrong ideas names them."""

from __future__ import annotations

HANDBOOK = "FAA-H-8083-15B, Instrument Flying Handbook, chapter 5 (from memory)"
GYRO_TEXT = "FAA-H-8083-25, Pilot's Handbook of Aeronautical Knowledge, chapter 8 (from memory)"
WANDER_TEXT = "apparent wander 15.04 sin(latitude) deg/h: any text on gyroscopic theory for pilots"
TRANSPORT_TEXT = (
    "transport wander, groundspeed east x tan(latitude) / R: any text on gyroscopic theory for pilots"
)
PRECESSION_TEXT = "precession = torque / angular momentum: any text on the theory of the gyroscope"
GIMBAL_PATENT = "US patent 3,870,940: gimbal error of a directional gyro by bank, pitch and spin axis"
COMPASS_TEXT = "Williams, Compass Errors (2001), equations 2 to 4"
DEVIATION_TEXT = "NGA, Handbook of Magnetic Compass Adjustment (2004), chapter V"
VARIATION_TEXT = "NOAA NCEI and BGS, The US/UK World Magnetic Model for 2025-2030 (declination)"
FIELD_TEXT = "NOAA NCEI and BGS, The US/UK World Magnetic Model for 2025-2030 (inclination)"
DRIFT_LIMIT_TEXT = (
    "FAA-H-8083-25, chapter 8: 3 degrees in 15 minutes, the Earth's turning not counted (from memory)"
)
PRACTICE = "common practice, no source"
