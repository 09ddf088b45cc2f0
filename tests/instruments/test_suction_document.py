"""The page about suction says what the model gives."""

import importlib.util
import re
from pathlib import Path
from types import ModuleType

from lubberline.instruments.faults import FAULTS
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.rotor import Rotor

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "methods" / "suction.md").read_text(encoding="utf-8")


def _builder() -> ModuleType:
    spec = importlib.util.spec_from_file_location(
        "suction_table", ROOT / "tools" / "write" / "suction_table.py"
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_table_of_faults_is_what_the_model_gives() -> None:
    builder = _builder()
    printed = PAGE.partition(builder.BEGIN)[2].partition(builder.END)[0]
    assert printed == builder.table(), "run: python tools/write/suction_table.py"


def test_every_parameter_is_listed_with_its_value() -> None:
    listed = dict(re.findall(r"^\| `(\w+)` \| ([^ |]+) \|", PAGE, flags=re.MULTILINE))
    values = {**SuctionSystem()._asdict(), **Rotor()._asdict()}
    assert {name: f"{value:.6g}" for name, value in values.items()} == listed


def test_every_air_fault_is_named_with_its_default_size() -> None:
    for name, fault in FAULTS.items():
        if name != "supply":
            assert f"`{name}` {fault.default_size:g}" in PAGE
