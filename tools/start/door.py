"""The command line of `start.py`."""

from __future__ import annotations

import argparse
import signal
import zipfile
from collections.abc import Sequence
from pathlib import Path
from types import FrameType
from typing import NoReturn

from tools.start import checks, first_flight, pack, paths, unpacked
from tools.start.console import Stop, say
from tools.start.environment import prepare

ENDED_BY_PERSON = 130
GREATEST_PORT = 65535


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        """One line and code 2."""
        self.exit(2, f"start.py: {message.removeprefix('argument ')}; see start.py --help\n")


def _port(text: str) -> int:
    port = int(text) if text.isdecimal() and len(text) <= 5 else GREATEST_PORT + 1
    if port > GREATEST_PORT:
        raise argparse.ArgumentTypeError(f"'{text[:40]}'; give a whole number from 0 to {GREATEST_PORT}")
    return port


def _pack(text: str) -> Path:
    if not zipfile.is_zipfile(text):
        raise argparse.ArgumentTypeError(
            f"'{text[:200]}' is not a zip file; give one that 'start.py pack' made"
        )
    return Path(text).resolve()


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="start.py",
        allow_abbrev=False,
        description="Install Lubberline into .venv, fly the demo and show the page; or run the given verb.",
    )
    parser.add_argument("--no-open", action="store_true", help="do not open the browser")
    parser.add_argument(
        "--port",
        type=_port,
        default=first_flight.PORT,
        help="port of the page; the next free port if it is taken",
    )
    verbs = parser.add_subparsers(dest="verb", metavar="VERB")
    test = verbs.add_parser(
        "test", allow_abbrev=False, help="run every check and the test suite; further arguments go to pytest"
    )
    test.add_argument("--all", action="store_true", help="include the long acceptance tests")
    packed = verbs.add_parser("pack", help="make a zip that installs with no network, git or Node")
    packed.add_argument(
        "--out", type=Path, default=paths.ROOT / "out" / "pack", help="folder for the zip file"
    )
    tried = verbs.add_parser("unpack-check", help="check that a pack works without a network")
    tried.add_argument("zip", type=_pack)
    return parser


def _terminated(_number: int, _frame: FrameType | None) -> NoReturn:
    raise KeyboardInterrupt


def main(arguments: Sequence[str]) -> int:
    """Run the given verb and return the exit code; every failure is one message."""
    parser = _parser()
    given, rest = parser.parse_known_args(arguments)
    if rest and given.verb != "test":
        parser.error(f"unknown: {' '.join(rest)}")
    # A shell that starts this in the background makes all its processes ignore Ctrl-C.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    # A request to end also ends the page.
    signal.signal(signal.SIGTERM, _terminated)
    try:
        return _do(given, rest)
    except Stop as stop:
        say(str(stop))
        return 1
    except OSError as error:
        where, wrong = error.filename or "The system", error.strerror or "it cannot be used"
        say(f"{where}: {wrong}. Correct this and start again.")
        return 1
    except KeyboardInterrupt:
        say("\nStopped. Finished steps are saved; start again to continue.")
        return ENDED_BY_PERSON


def _do(given: argparse.Namespace, rest: Sequence[str]) -> int:
    if given.verb == "test":
        return checks.run_all(acceptance=given.all, pytest_arguments=rest)
    if given.verb == "pack":
        pack.make(given.out)
    elif given.verb == "unpack-check":
        unpacked.check(given.zip)
    else:
        prepare()
        try:
            first_flight.fly_and_show(given.port, open_browser=not given.no_open)
        except KeyboardInterrupt:
            say("\nThe page is closed.")
    return 0
