"""`lubberline open`: the pages, served on this machine."""

import argparse

from lubberline.commands.options import Command, flag, one_of, option, port


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


OPEN = Command(
    "open",
    "start the page on this machine",
    run,
    "Opening",
    (
        option(
            "--port", type=port, metavar="N", help="default 8765, or the next free port; 0: any free port"
        ),
        flag("--no-open", "do not open the browser"),
        flag("--lan", "students in the local network may join"),
        option("--behind", default="", metavar="URL", help="address of the HTTPS proxy in front of it"),
        one_of(
            flag("--passphrase", "set the instructor's passphrase first"),
            flag("--no-passphrase", "remove the passphrase first"),
        ),
        flag("--forgotten", "do not ask for the present passphrase, because nobody knows it"),
    ),
)
