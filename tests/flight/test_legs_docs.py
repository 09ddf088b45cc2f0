"""The page on legs files against the code: every key with its default, and every example flies."""

import re
from pathlib import Path

import msgspec
import pytest

from lubberline.flight import motion as engine
from lubberline.flight.legs import pieces as leg_pieces
from lubberline.flight.legs.file import FAULT_NAMES
from lubberline.flight.legs.kinds import KINDS, Head
from lubberline.flight.legs.motion import read_legs_text
from lubberline.flight.turbulence import LEVEL_BANK_SD_DEG
from lubberline.instruments.faults import FAULTS

PAGE = (Path(__file__).parents[2] / "docs" / "instructors" / "legs.md").read_text(encoding="utf-8")
SECTIONS = dict(re.findall(r"^## (.+?)\n(.*?)(?=^## |\Z)", PAGE, re.M | re.S))
EXAMPLES = re.findall(r"^```toml\n(.*?)^```", PAGE, re.M | re.S)
STRUCTS = {"The head": Head, **KINDS}


def rows(section: str) -> dict[str, list[str]]:
    found = re.findall(r"^\| `(\w+)` \| (.*?) \| (.*?) \| (.*) \|$", SECTIONS[section], re.M)
    return {key: rest for key, *rest in found}


def test_every_kind_has_its_section_and_no_other_does():
    assert set(SECTIONS) == set(STRUCTS)


@pytest.mark.parametrize("section", list(STRUCTS))
def test_the_documented_keys_are_the_fields_with_their_defaults(section):
    fields = {field.encode_name: field for field in msgspec.structs.fields(STRUCTS[section])}
    documented = rows(section)
    assert set(documented) == set(fields)
    for key, (unit, default, meaning) in documented.items():
        assert unit
        assert meaning
        field = fields[key]
        if field.required:
            assert default == "required", key
        elif isinstance(field.default, (int, float)):
            assert float(default) == field.default, key
        else:
            assert default != "required", key


def test_the_defaults_that_the_code_works_out_are_the_documented_ones():
    assert rows("turn")["rate_deg_s"][1] == (
        f"{leg_pieces.RATE_ONE_DEG_S:g}; on the ground {leg_pieces.TAXI_TURN_DEG_S:g}"
    )
    assert rows("accelerate")["at_g"][1] == "0.1" == f"{leg_pieces.ACCELERATION_G:g}"
    assert rows("wait")["engine_rpm"][1] == f"{engine.IDLE_RPM:g}"
    for kind in ("straight", "turn"):
        assert rows(kind)["engine_rpm"][1] == f"{engine.CRUISE_RPM:g}; taxiing {engine.TAXI_RPM:g}"
    assert rows("climb")["engine_rpm"][1] == f"{engine.CLIMB_RPM:g}"
    assert rows("descend")["engine_rpm"][1] == f"{engine.DESCENT_RPM:g}"
    assert rows("fault")["name"][0] == ", ".join(FAULT_NAMES)
    level = rows("rough")["level"]
    assert level[0] == ", ".join(LEVEL_BANK_SD_DEG)
    assert ", ".join(f"{sd:g}" for sd in LEVEL_BANK_SD_DEG.values()) in level[2]


@pytest.mark.parametrize("number", range(len(EXAMPLES)))
def test_every_example_flies(number):
    first = EXAMPLES[0]
    climbing_out = first.split('[[leg]]\nkind = "turn"')[0]
    after = "\n[[leg]]\nkind = 'straight'\nminutes = 2\n"
    if "to_altitude_ft = 3000" in EXAMPLES[number] or "on_ground" in EXAMPLES[number]:
        after = ""
    text = first if number == 0 else climbing_out + EXAMPLES[number] + after
    assert read_legs_text("docs/instructors/legs.md", text).duration_s > 300.0


def test_the_faults_are_those_that_an_aircraft_may_have():
    assert list(FAULTS) == FAULT_NAMES


def test_every_kind_has_an_example():
    shown = set(re.findall(r'^kind = "(\w+)"', "\n".join(EXAMPLES), re.M))
    assert shown == set(KINDS)
