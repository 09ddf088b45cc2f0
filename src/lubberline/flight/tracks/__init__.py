"""Recorded tracks: the files they come in, their cleaning and smoothing, and the motion they make."""
