"""The heading indicator: its gyro, its card and its knob."""
