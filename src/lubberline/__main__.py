"""`python -m lubberline`, and what the command `lubberline` calls."""

from __future__ import annotations

import sys


def run() -> int:
    """The command line; an interruption while it is brought in is heard, too."""
    try:
        from lubberline.cli import main
    except KeyboardInterrupt:
        return 130
    return main()


if __name__ == "__main__":
    sys.exit(run())
