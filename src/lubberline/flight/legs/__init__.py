"""Flights written by hand as legs: the file, the kinds of leg, and the motion they make."""
