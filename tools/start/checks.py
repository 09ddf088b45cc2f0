"""`start.py test`: style, types, import contracts, TypeScript, then the test suite."""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Sequence

from tools.start import browsers, paths
from tools.start.console import Stop, say
from tools.start.environment import prepare, run_in_venv

# Half of the suite waits for browsers and servers; other processes compute meanwhile.
SIDE_BY_SIDE = ("-n", "4", "--dist", "worksteal")


def _static_checks() -> dict[str, list[str]]:
    """Each check's name and command; a name ends with the command that repairs it."""
    python, lint_imports = str(paths.venv_python()), str(paths.venv_program("lint-imports"))
    return {
        "ruff check (repair: ruff check --fix)": [python, "-m", "ruff", "check", "."],
        "ruff format (repair: ruff format)": [python, "-m", "ruff", "format", "--check", "."],
        "mypy": [python, "-m", "mypy"],
        "import contracts": [lint_imports, "--no-cache"],
        "TypeScript": [python, "-m", "tools.start.pages", "check"],
        "QTI renderer, for the tests": [python, "-m", "tools.start.pages", "renderer"],
    }


def run_all(*, acceptance: bool, pytest_arguments: Sequence[str]) -> int:
    """Run every check and the suite; 0 when all passed.

    Raises:
        Stop: in a pack, and in CI without a browser.
    """
    if paths.is_pack():
        raise Stop("A pack has no tests; run them in a source checkout.")
    prepare(tests=True)
    # Every process that a test starts would compile all modules again.
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    browser = browsers.find()
    if browser is None and os.environ.get("CI"):
        raise Stop(f"{browsers.NONE_FOUND} CI must have one.")
    # Meanwhile, since the two processes of the suite would both compile everything.
    with subprocess.Popen([str(paths.venv_python()), "-m", "tests.kernels"], cwd=paths.ROOT):
        failed = [name for name, command in _static_checks().items() if not _passes(name, command)]
    say(f"Browser tests use {browser}." if browser else f"{browsers.NONE_FOUND} They are skipped.")
    if failed:
        say(f"Failed so far: {', '.join(failed)}")
    marks = ["-m", ""] if acceptance else []
    code = run_in_venv("-m", "pytest", *SIDE_BY_SIDE, *marks, *pytest_arguments)
    return code or int(bool(failed))


def _passes(name: str, command: Sequence[str]) -> bool:
    started = time.monotonic()
    done = subprocess.run(
        command,
        cwd=paths.ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
        errors="replace",
        check=False,
    )
    word = "FAILED" if done.returncode else "passed"
    say(f"{name}: {word} ({time.monotonic() - started:.1f} s)")
    if done.returncode:
        say(done.stdout)
    return done.returncode == 0
