"""The command line: `lubberline COMMAND`, one module of `commands` each.

Heavy modules are imported inside the commands, so that help and errors come at once. Whatever happens to
a command, it ends with one line and a code: 0 when it did what was asked, 2 when that cannot be, 130
after Ctrl-C, 143 after a request to end. Once its files are in place it did what was asked.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from typing import NoReturn

from lubberline import __version__
from lubberline.commands import (
    ask,
    course,
    demo_class,
    fly,
    ideas,
    interrupt,
    judge,
    lesson,
    pages,
    plan,
    records,
    statistics,
    streams,
    swing,
    wander,
)
from lubberline.commands.progress import Progress
from lubberline.errors import InputError, Unavailable
from lubberline.unfinished import begin, refusal

REFUSED = 2
# In the order in which help lists them; each with what is said of it when it takes long.
COMMANDS = {
    "fly": (fly, "Flying"),
    "wander": (wander, "Working out the rates"),
    "ask": (ask, "Making the questions"),
    "open": (pages, "Opening"),
    "ideas": (ideas, "Listing"),
    "judge": (judge, "Judging the log"),
    "swing": (swing, "Fitting the swing"),
    "plan": (plan, "Planning"),
    "records": (records, "Working on the records"),
    "demo-class": (demo_class, "Writing the demo class"),
    "lesson": (lesson, "Working out the lesson"),
    "statistics": (statistics, "Working out the statistics"),
    "course": (course, "Working out the course records"),
}


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        """One line, as for all other bad input."""
        self.exit(REFUSED, f"lubberline: {message.removeprefix('argument ')}; see {self.prog} --help\n")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="lubberline",
        description="Fly a flight past its heading indicator and account for every degree of error. "
        "For teaching only.",
    )
    parser.add_argument("--version", action="version", version=f"lubberline {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for module, _ in COMMANDS.values():
        module.add(commands)
    return parser


def _do(arguments: Sequence[str] | None, err: streams.Output, out: streams.Output) -> int:
    """Run one command; returns its code."""
    try:
        given = _parser().parse_args(arguments)
    except SystemExit as stop:
        return int(stop.code or 0)
    module, words = COMMANDS[given.command]
    given.progress = progress = Progress(streams.Output(err.stream), words)
    # In a process of its own: others that call this have signals and a standard error of their own.
    if arguments is None and module is pages:
        interrupt.leave_to_python()
    elif arguments is None:
        interrupt.listen()
        out.before = err.before = progress.clear
        progress.start()
    try:
        module.run(given)
    finally:
        progress.end()
    return 0


def _code_of(arguments: Sequence[str] | None, err: streams.Output, out: streams.Output) -> int:
    try:
        return _do(arguments, err, out)
    except (InputError, Unavailable) as error:
        told: Exception = error
    except MemoryError:
        told = InputError("memory", "there is not enough", "ask for less, or close other programs")
    except OSError as error:
        told = refusal(error.filename or "the system", error)
    except KeyboardInterrupt:
        return interrupt.exit_code()
    except Exception:
        # The compiler makes an error of its own out of an interruption.
        if interrupt.was_heard():
            return interrupt.exit_code()
        raise
    if interrupt.was_heard():
        return interrupt.exit_code()
    # Which records they are is noted for whoever sits at the terminal.
    print("; ".join([f"lubberline: {told}", *getattr(told, "__notes__", ())]), file=sys.stderr)
    return REFUSED


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Args:
        arguments: as typed after the program's name; those of this process without them.

    Returns:
        The exit code. Output that nobody reads any more is no failure; one that cannot be written is.
    """
    begin()
    with streams.guarded() as (out, err):
        code = _code_of(arguments, err, out)
        out.flush()
        if out.fault is not None and not out.reader_is_gone:
            told = refusal("output", out.fault)
            print(f"lubberline: {told.where}: {told.wrong}; send it where it can be written", file=sys.stderr)
            code = code or REFUSED
    if arguments is None:
        interrupt.ignore()
    if interrupt.was_heard():
        # Python would take the compiled engine down piece by piece, for seconds.
        os._exit(code)
    return code


if __name__ == "__main__":
    sys.exit(main())
