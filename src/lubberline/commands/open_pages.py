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
        option("--port", type=port, metavar="N", help="8765, or the next free one if taken; 0: any"),
        flag("--no-open", "do not open the browser"),
        flag("--lan", "students of the local network may join"),
        option("--behind", default="", metavar="URL", help="an HTTPS proxy stands before it"),
        one_of(
            flag("--passphrase", "set the instructor's passphrase first"),
            flag("--no-passphrase", "take the passphrase away, first"),
        ),
        flag("--forgotten", "nobody knows the passphrase that is set: do not ask for it"),
    ),
)
