"""Drawings: axes, plots, bands, and the look and words of each cause."""
