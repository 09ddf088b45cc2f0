"""The functions and named numbers of the project that a way to an answer reaches."""

import dis
import sys
import types
from collections.abc import Callable, Iterator
from typing import Any

from lubberline.compiled import Kernel

PROJECT = "lubberline"
# What both ways may use.
FLOOR = (
    # How values are written and drawn, and the drawings that an item shows.
    *("lubberline.questions.notation", "lubberline.questions.model", "lubberline.questions.figures"),
    "lubberline.questions.panel_figures",
    # The laws of the ideas, and the one place where they are applied.
    *(
        "lubberline.questions.belief",
        "lubberline.questions.face_slips",
        "lubberline.simulation.misconceptions",
    ),
    # Arithmetic of angles, plumbing, and constants of nature.
    *(
        "lubberline.angles",
        "lubberline.arrays",
        "lubberline.compiled",
        "lubberline.errors",
        "lubberline.units",
    ),
    # The one model of the air drive: `work` asks for its settled state, `second` reads flights with it.
    *("lubberline.instruments.suction", "lubberline.instruments.faults", "lubberline.earth.atmosphere"),
)
# Functions that make what a stem shows, not what is answered: a table of deviations, graphs of flights, a
# panel and the names of its parts.
SHOWN = (
    *("swing._swing", "swing._swing_of", "traces.pictured", "traces._slope_figure"),
    *("supply._plumbing", "supply._code", "supply._true", "supply.Plumbing.on", "supply.pump_names"),
    *("gauges._row", "faces._drawn_faces", "faces._moments"),
    *("tumbling._moments", "checks._taxi"),
)


def _used(code: types.CodeType) -> Iterator[str]:
    """Global names that are loaded; not those of attributes."""
    for one in dis.get_instructions(code):
        if one.opname in ("LOAD_GLOBAL", "LOAD_NAME"):
            yield one.argval
    for inner in code.co_consts:
        if isinstance(inner, types.CodeType):
            yield from _used(inner)


def _function(found: Any) -> Any:
    """The Python function behind a cached one or a kernel; None for anything else."""
    while hasattr(found, "__wrapped__"):
        found = found.__wrapped__
    if isinstance(found, Kernel):
        found = found._function
    return found if isinstance(found, types.FunctionType) else None


def _on_floor(module: str) -> bool:
    return not module.startswith(PROJECT) or any(
        module == one or module.startswith(f"{one}.") for one in FLOOR
    )


def _named(function: Any) -> str:
    return f"{function.__module__}.{function.__qualname__}"


def _inside(value: Any) -> Iterator[Any]:
    """The functions of a value: itself, or the methods and properties of a class."""
    if isinstance(value, type):
        for name, one in vars(value).items():
            if not name.startswith("__"):
                yield getattr(one, "fget", one)
    else:
        yield value


def reached(*starts: Callable[..., Any]) -> set[str]:
    """Functions of the project and named numbers that are reached from here, above the floor."""
    found: set[str] = set()
    waiting: list[Any] = list(starts)
    while waiting:
        function = _function(waiting.pop())
        if function is None or _on_floor(function.__module__) or _named(function).endswith(SHOWN):
            continue
        if function.__name__ != "<lambda>" and function not in starts:
            if _named(function) in found:
                continue
            found.add(_named(function))
        waiting += [cell.cell_contents for cell in function.__closure__ or ()]
        for name in set(_used(function.__code__)):
            value = function.__globals__.get(name)
            if isinstance(value, int | float):
                if not any(name in vars(sys.modules[one]) for one in FLOOR if one in sys.modules):
                    found.add(f"{function.__module__}.{name}")
            else:
                waiting += _inside(value)
    return found
