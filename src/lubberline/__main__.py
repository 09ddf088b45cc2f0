"""`python -m lubberline`, and what the command `lubberline` calls."""

import os
import signal
import sys


def run() -> int:
    """The command line; an interruption while it is brought in ends it, for nothing has begun."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        # An exception would be made another one by a module that is half imported.
        signal.signal(signal.SIGINT, lambda number, _: os._exit(128 + number))
    from lubberline.cli import main

    return main()


if __name__ == "__main__":
    sys.exit(run())
