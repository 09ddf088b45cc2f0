"""A process that has the libraries loaded and runs tests in forks of itself: `python -m tests.mutants.warm`.

It reads an `Asked` a line and answers each with what pytest returned. A fork takes over compiled kernels that
a broken law does not touch: what was compiled from the same file at the same place, with the same time of
change, may be used again. Not so kernels of modules that import the broken one: Numba would not notice.
"""

import importlib
import os
import sys
import traceback
from collections.abc import Iterator
from pathlib import Path

import msgspec
import numba
import pytest

LIBRARIES = (
    *("geographiclib.geodesic", "hypothesis", "mujoco", "numpy", "ppigrf", "pygeomag", "scipy.integrate"),
    *("scipy.interpolate", "scipy.optimize", "scipy.special", "scipy.stats", "sqlalchemy"),
)
# With a seed the random tests look at the same cases in every run.
SHOWN = (
    *("-rfE", "--tb=line", "--hypothesis-seed=0", "-p", "no:cacheprovider"),
    *("-W", "ignore:Module already imported"),
)


class Asked(msgspec.Struct):
    """Tests to run.

    Attributes:
        arguments: of pytest.
        stale: modules whose kernels are compiled anew, as `folder/module`.
        output: the file for what pytest prints.
        limit_s: of processor time; whoever goes beyond it is ended.
    """

    arguments: list[str]
    stale: list[str]
    output: str
    limit_s: int


def _files(folder: Path, stale: list[str]) -> Iterator[tuple[Path, Path]]:
    """Compiled files, with their place in the folder, but those of stale modules."""
    for file in folder.rglob("*.nb?"):
        place = file.relative_to(folder)
        if f"{place.parts[0].rpartition('_')[0]}/{file.name.partition('.')[0]}" not in stale:
            yield file, place


def _linked(here: Path, there: Path, stale: list[str]) -> None:
    for file, place in _files(here, stale):
        target = there / place
        target.parent.mkdir(parents=True, exist_ok=True)
        # An index that has grown takes the place of the one that it grew from.
        if target.exists() and not target.samefile(file):
            target.unlink()
        if not target.exists():
            os.link(file, target)


def _run(asked: Asked, kept: Path) -> int:
    """In the fork: run tests with a folder of compiled kernels of their own."""
    import resource

    resource.setrlimit(resource.RLIMIT_CPU, (asked.limit_s, asked.limit_s))
    output = os.open(asked.output, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o644)
    os.dup2(output, 1)
    os.dup2(output, 2)
    import lubberline.compiled  # noqa: F401 - names the folder

    own = Path(numba.config.CACHE_DIR)
    _linked(kept, own, asked.stale)
    code = int(pytest.main([*SHOWN, *asked.arguments]))
    _linked(own, kept, asked.stale)
    sys.stdout.flush()
    return code


def main() -> None:
    """Answer requests until there are no more; the argument is the folder where compiled kernels are kept."""
    kept = Path(sys.argv[1])
    for library in LIBRARIES:
        importlib.import_module(library)
    for line in sys.stdin:
        asked = msgspec.json.decode(line, type=Asked)
        child = os.fork()
        if not child:
            code = 99
            try:
                code = _run(asked, kept)
            except BaseException:
                traceback.print_exc()
            finally:
                os._exit(code)
        _, status = os.waitpid(child, 0)
        print(os.waitstatus_to_exitcode(status), flush=True)


if __name__ == "__main__":
    main()
