"""`lubberline ideas`: the wrong ideas that a flight can be flown with."""

from __future__ import annotations

import argparse
from typing import Any


def add(commands: Any) -> None:
    """It has no options."""
    commands.add_parser("ideas", help="list the wrong ideas that --believe knows")


def run(_: argparse.Namespace) -> None:
    """List them."""
    from lubberline.simulation.misconceptions import FLOWN

    for idea in FLOWN:
        print(f'{idea.id}\n    "{idea.statement}"\n    {idea.mend}')
