"""Lubberline: fly a flight, see what the heading indicator shows, account for every degree."""

__version__ = "0.1.0"
