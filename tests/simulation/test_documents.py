"""The documents name every key and column there is, and their examples are read."""

import re
from pathlib import Path

import msgspec
import pytest

from lubberline.instruments.faults import FAULTS
from lubberline.simulation import aircraft
from lubberline.simulation.flown import COMPASS_LEDGER_COLUMNS, LEDGER_COLUMNS

DOCS = Path(__file__).parents[2] / "docs"
TABLES = {
    "heading_indicator": aircraft.HeadingIndicatorEntry,
    "suction": aircraft.SuctionEntry,
    "compass": aircraft.CompassEntry,
    "pilot": aircraft.PilotEntry,
    "fault": aircraft.FaultEntry,
}


def rows_of(text: str) -> list[str]:
    return re.findall(r"^\| `([a-z_0-9]+)` \|", text, flags=re.MULTILINE)


@pytest.mark.parametrize("table", TABLES)
def test_every_key_of_the_aircraft_file_is_documented(table: str) -> None:
    section = (DOCS / "instructors" / "aircraft.md").read_text().split(f"\n## {table}\n")[1].split("\n## ")[0]
    assert rows_of(section) == [field.name for field in msgspec.structs.fields(TABLES[table])]


def test_documented_defaults_are_the_defaults() -> None:
    text = (DOCS / "instructors" / "aircraft.md").read_text()
    for struct in TABLES.values():
        for field in msgspec.structs.fields(struct):
            found = re.search(rf"^\| `{field.name}` \|[^|]*\|([^|]*)\|", text, flags=re.MULTILINE)
            assert found
            if isinstance(field.default, float):
                assert float(found[1]) == field.default, field.name
            elif isinstance(field.default, str):
                assert found[1].strip() == f'`"{field.default}"`', field.name


def test_example_is_an_aircraft_with_every_key() -> None:
    text = (DOCS / "instructors" / "aircraft.md").read_text()
    example = text.split("```toml\n")[1].split("```")[0]
    assert aircraft.aircraft_from_text("docs/instructors/aircraft.md", example).fault[0].name == "filter"
    for struct in TABLES.values():
        for field in msgspec.structs.fields(struct):
            assert f"{field.name} = " in example


def test_every_fault_is_named() -> None:
    text = (DOCS / "instructors" / "aircraft.md").read_text()
    assert all(f"`{name}`" in text for name in FAULTS)


def test_every_column_of_the_ledgers_is_documented() -> None:
    first, second = (DOCS / "methods" / "ledger.md").read_text().split("## The compass's ledger")
    assert tuple(rows_of(first)) == LEDGER_COLUMNS[1:]
    assert tuple(rows_of(second)) == COMPASS_LEDGER_COLUMNS[1:]
