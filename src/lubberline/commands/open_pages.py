"""`lubberline open`: the pages, served on this machine."""

import argparse
from typing import Any

from lubberline.commands import options


def add(commands: Any) -> None:
    """Its options."""
    page = commands.add_parser("open", help="start the page on this machine")
    page.add_argument(
        "--port", type=options.port, metavar="N", help="default 8765, or the next free port; 0: any free port"
    )
    page.add_argument("--no-open", action="store_true", help="do not open the browser")
    page.add_argument("--lan", action="store_true", help="students in the local network may join")
    page.add_argument("--behind", default="", metavar="URL", help="address of the HTTPS proxy in front of it")
    passphrase = page.add_mutually_exclusive_group()
    passphrase.add_argument("--passphrase", action="store_true", help="set the instructor's passphrase first")
    passphrase.add_argument("--no-passphrase", action="store_true", help="remove the passphrase first")
    page.add_argument(
        "--forgotten",
        action="store_true",
        help="do not ask for the present passphrase, because nobody knows it",
    )


def run(given: argparse.Namespace) -> None:
    """Serve until Ctrl-C."""
    from lubberline.web.serve import Wanted, serve

    serve(
        Wanted(
            port=given.port,
            open_browser=not given.no_open,
            lan=given.lan,
            behind=given.behind,
            asks_passphrase=given.passphrase,
            forgets_passphrase=given.no_passphrase,
            forgotten=given.forgotten,
        )
    )
