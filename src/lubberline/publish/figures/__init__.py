"""Drawings: axes, plots, bands, and how each cause looks and reads."""
