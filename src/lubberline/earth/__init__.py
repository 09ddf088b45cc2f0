"""Where on Earth: its shape, its turning, its magnetic field and its air."""
