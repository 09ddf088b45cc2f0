"""The command line: `lubberline COMMAND`, one module of `commands` each.

Heavy modules are imported inside the commands, so that help and errors appear at once. Every command ends
with an exit code: 0 when it did its work, 2 (and one line) when that is not possible, 130 after Ctrl-C,
143 after a request to end. Its work is done once its files are in place.
"""

import argparse
import os
import sys
from collections.abc import Sequence
from typing import NoReturn

from lubberline import __version__
from lubberline.commands import (
    ask,
    course,
    fly,
    home,
    interrupt,
    judge,
    lesson,
    open_pages,
    own,
    plan,
    records,
    statistics,
    swing,
    terminal,
    wander,
)
from lubberline.commands.terminal import Progress
from lubberline.errors import InputError, Unavailable
from lubberline.unfinished import in_place, refusal

REFUSED = 2
# In the order in which help lists them.
COMMANDS = (
    fly.FLY,
    wander.WANDER,
    ask.ASK,
    open_pages.OPEN,
    home.HOME,
    fly.IDEAS,
    judge.JUDGE,
    swing.SWING,
    plan.PLAN,
    records.RECORDS,
    records.DEMO_CLASS,
    lesson.LESSON,
    own.OWN,
    statistics.STATISTICS,
    course.COURSE,
)


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        """Reports it in one line, like all bad input."""
        self.exit(REFUSED, f"lubberline: {message.removeprefix('argument ')}; see {self.prog} --help\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="lubberline",
        description="Fly a heading indicator and account for every degree of its error. For teaching only.",
    )
    parser.add_argument("--version", action="version", version=f"lubberline {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for command in COMMANDS:
        command.add(commands)
    return parser


def _do(arguments: Sequence[str] | None, err: terminal.Output, out: terminal.Output) -> int:
    """Run one command; returns its code."""
    try:
        given = _parser().parse_args(arguments)
    except SystemExit as stop:
        return int(stop.code or 0)
    given.progress = progress = Progress(terminal.Output(err.stream), given.command.doing)
    # Only in the command's own process: other callers handle signals and standard error themselves.
    if arguments is None and given.command is open_pages.OPEN:
        interrupt.leave_to_python()
    elif arguments is None:
        interrupt.listen()
        out.before = err.before = progress.clear
        progress.start()
    try:
        given.command.act(given)
    finally:
        progress.end()
    return 0


def _code_of(arguments: Sequence[str] | None, err: terminal.Output, out: terminal.Output) -> int:
    try:
        return _do(arguments, err, out)
    except (InputError, Unavailable) as error:
        told: Exception = error
    except MemoryError:
        told = InputError("memory", "there is not enough memory", "ask for less, or close other programs")
    except OSError as error:
        told = refusal(error.filename or "the system", error)
    except KeyboardInterrupt:
        return interrupt.exit_code()
    except Exception:
        # The compiler turns an interruption into an error.
        if interrupt.was_heard():
            return interrupt.exit_code()
        raise
    if interrupt.was_heard():
        return interrupt.exit_code()
    # Only the terminal shows which records they are.
    print("; ".join([f"lubberline: {told}", *getattr(told, "__notes__", ())]), file=sys.stderr)
    return REFUSED


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        arguments: as typed after the program's name; those of this process without them.

    Returns:
        The exit code. A reader that has gone away is not a failure; output that cannot be written is.
    """
    in_place.clear()
    with terminal.guarded() as (out, err):
        code = _code_of(arguments, err, out)
        out.flush()
        if out.fault is not None and not out.reader_is_gone:
            told = refusal("output", out.fault)
            print(f"lubberline: {told.where}: {told.wrong}; send it where it can be written", file=sys.stderr)
            code = code or REFUSED
    if arguments is None:
        interrupt.ignore()
    if interrupt.was_heard():
        # Python would need seconds to unload the compiled engine.
        os._exit(code)
    return code


if __name__ == "__main__":
    sys.exit(main())
