"""The door to the compiler: every kernel is decorated with `kernel` from here."""

from collections.abc import Callable
from functools import cached_property, update_wrapper
from typing import Any, TypeVar, cast

F = TypeVar("F", bound=Callable[..., Any])

# Of a first flight or bench, by what was measured; where much else runs it is longer.
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
        """What Python calls."""
        from lubberline.compiler import compiled

        return compiled(self._function)

    @cached_property
    def for_kernels(self) -> Any:
        """What other kernels call."""
        from lubberline.compiler import compiled_within

        return compiled_within(self._function, **self._options)

    @property
    def _numba_type_(self) -> Any:
        # Numba asks a kernel's globals for it, and keeps what it gets by a weak reference only.
        return self.for_kernels._numba_type_


def kernel(function: F) -> F:
    """Compile a function of plain numbers and arrays; releases the interpreter lock while it runs."""
    return cast(F, Kernel(function))


def inlined_kernel(function: F) -> F:
    """As `kernel`, but written out where it is called: for what every step of a long flight calls.

    Handing arrays and records of thirty numbers to a compiled function costs as much as the sums in it.
    """
    # Written out in machine code, not in Numba's own form of Python, where each copy would be typed anew.
    return cast(F, Kernel(function, forceinline=True))
