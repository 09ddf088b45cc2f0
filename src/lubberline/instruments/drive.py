"""What turns a gyro's rotor, as the gyro feels it: the common record that air and electric drives fill."""

from __future__ import annotations

import numpy as np

DRIVE_SAMPLE = np.dtype(
    [
        ("rotor_rad_s", "f8"),
        # Net torque along the spin axis, reacted by the housing: J times the rotor's acceleration.
        ("spin_torque_nm", "f8"),
        # Strength of the levelling jets (or motor), 1 = as at full suction.
        ("levelling_fraction", "f8"),
        # Worn bearings: factor on the torques of real wander and gimbal friction, 1 = as new.
        ("wear_factor", "f8"),
        # What the pilot's gauge reads by this aircraft's tap, and what the instrument gets (nan: no gauge).
        ("gauge_pa", "f8"),
        ("instrument_pa", "f8"),
        # A finger on the card: torque about the outer axis, clockwise seen from above; 0 in flight.
        ("finger_nm", "f8"),
    ]
)
