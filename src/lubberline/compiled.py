"""Access to the compiler: every kernel is decorated with `kernel` from here."""

from collections.abc import Callable
from functools import cached_property, update_wrapper
from typing import Any, TypeVar, cast

F = TypeVar("F", bound=Callable[..., Any])

# For a first flight or bench, as measured; longer on a busy machine.
HOW_LONG = "usually 10 to 30 s"


class Kernel:
    """A function that is compiled when it is first called; until then the compiler is not imported."""

    def __init__(self, function: Callable[..., Any], **options: Any) -> None:
        update_wrapper(self, function)
        self._function = function
        self._options = options

    def __call__(self, *args: Any, **named: Any) -> Any:
        """Run it."""
        return self.for_python(*args, **named)

    @cached_property
    def for_python(self) -> Any:
        """The function that Python calls."""
        from lubberline.compiler import compiled

        return compiled(self._function)

    @cached_property
    def for_kernels(self) -> Any:
        """The function that other kernels call."""
        from lubberline.compiler import compiled_within

        return compiled_within(self._function, **self._options)

    @property
    def _numba_type_(self) -> Any:
        # Numba takes it from a kernel's globals and keeps only a weak reference.
        return self.for_kernels._numba_type_


def kernel(function: F) -> F:
    """Compile a function of plain numbers and arrays; releases the interpreter lock while it runs."""
    return cast(F, Kernel(function))


def inlined_kernel(function: F) -> F:
    """As `kernel`, but inlined: for functions that every step of a long flight calls.

    Handing arrays and records of thirty numbers to a compiled function costs as much as its calculation.
    """
    # Inlined in machine code, not in Numba's own form of Python, where each copy would be typed again.
    return cast(F, Kernel(function, forceinline=True))
