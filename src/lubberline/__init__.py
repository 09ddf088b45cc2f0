"""Lubberline: fly a flight, see what the heading indicator shows, account for every degree.

from lubberline import fly
flown = fly("demo/flights/short.toml")
flown.trace.heading_error_deg, flown.ledger.earth_deg, flown.summary["sentence"]
"""

from __future__ import annotations

# Spelt out for checkers: until the command hears an interruption, the less is imported the better.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from lubberline.errors import InputError
    from lubberline.simulation.flown import Columns, Flown
    from lubberline.simulation.flying import fly

__version__ = "0.1.0"
__all__ = ["Columns", "Flown", "InputError", "__version__", "fly"]

_DOORS = {
    "fly": "lubberline.simulation.flying",
    "Flown": "lubberline.simulation.flown",
    "Columns": "lubberline.simulation.flown",
    "InputError": "lubberline.errors",
}


def __getattr__(name: str) -> Any:
    """Bring in the compiler and the engine only when they are asked for."""
    if name in _DOORS:
        from importlib import import_module

        return getattr(import_module(_DOORS[name]), name)
    raise AttributeError(f"module 'lubberline' has no attribute '{name}'")
