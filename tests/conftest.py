"""Fixtures for all tests, and how many cases a random test looks at."""

import os
import sys
from collections.abc import Iterator

import pytest
from hypothesis import settings

# Test processes share the cores already; a second thread of linear algebra in each waits by spinning.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from lubberline.compiled import Kernel
from lubberline.simulation.misconceptions.idea import SPOKEN
from tests.chromium import browser
from tests.postgres import emptied, postgres
from tests.quick_tables import quick_tables

__all__ = ["browser", "emptied", "postgres", "quick_tables"]

settings.register_profile("few", max_examples=25, deadline=None)
settings.register_profile("many", max_examples=300, deadline=None)


@pytest.fixture(autouse=True)
def plainly_spoken() -> Iterator[None]:
    """A command speaks the words of its school to its end; here the next test follows."""
    before = SPOKEN.get()
    yield
    SPOKEN.set(before)


def pytest_configure(config: pytest.Config) -> None:
    """Many cases where the acceptance runs were asked for, few in every other run."""
    settings.load_profile("few" if config.option.markexpr else "many")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Pages first: they take longest, and at the end one process would wait for the other's."""
    items.sort(key=lambda item: "web" not in item.path.parts)


def pytest_collection_finish() -> None:
    """Nothing is flown to collect tests: every process would have to fly, and compile, it."""
    modules = [module for name, module in sys.modules.items() if name.startswith("lubberline.")]
    kernels = [one for module in modules for one in vars(module).values() if isinstance(one, Kernel)]
    used = sorted({kernel.__name__ for kernel in kernels if "for_python" in vars(kernel)})
    if used:
        raise pytest.UsageError(f"used while tests were collected: {', '.join(used)}")
