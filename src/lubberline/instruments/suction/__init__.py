"""The drive of the gyros: air or a motor, the rotor, and the gauge."""
