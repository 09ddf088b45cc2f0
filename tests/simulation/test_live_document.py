"""`docs/developers/live.md` against the code: orders, names of a frame, words of an address."""

import re
from pathlib import Path
from typing import Any

import msgspec
import pytest

from lubberline.simulation.bench import Bench
from lubberline.simulation.live import address
from lubberline.simulation.live.orders import order_kinds
from lubberline.simulation.live.scene import Camera, SceneEntry, StepEntry, scene_of
from lubberline.simulation.live.state import Start
from lubberline.web.bench.pages import GREATEST_MESSAGE
from lubberline.web.bench.viewer import BURST, PATIENCE

TEXT = (Path(__file__).parents[2] / "docs" / "developers" / "live.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("kind", order_kinds().values(), ids=lambda kind: kind.__name__)
def test_every_order_and_its_fields_are_documented(kind: Any) -> None:
    (row,) = re.findall(rf"^\| `{kind.__struct_config__.tag}` \|.*$", TEXT, re.MULTILINE)
    for field in msgspec.structs.fields(kind):
        assert f"`{field.encode_name}`" in row


def test_no_order_is_documented_that_is_not_there() -> None:
    table = TEXT.split("| order | fields |")[1].split("\n\n")[0]
    documented = set(re.findall(r"^\| `([a-z]+)` \|", table, re.MULTILINE))
    assert documented == {kind.__struct_config__.tag for kind in order_kinds().values()}


def names_in(part: Any) -> set[str]:
    if isinstance(part, list):
        return set().union(*(names_in(entry) for entry in part)) if part else set()
    if not isinstance(part, dict):
        return set()
    return set(part) | set().union(*(names_in(value) for value in part.values()))


def test_every_name_of_a_frame_is_documented() -> None:
    bench = Bench(scene_of("test", {"id": "a", "title": "A", "second": {"aircraft": {}}}))
    frame = bench.frame()
    ledger = set(frame["ledger"])
    for name in names_in(frame) - ledger:
        assert f'"{name}"' in TEXT, name
    columns = (Path(__file__).parents[2] / "docs" / "methods" / "ledger.md").read_text(encoding="utf-8")
    assert all(f"`{name}`" in columns for name in ledger)


def test_every_key_of_a_scene_is_documented() -> None:
    for struct in (SceneEntry, StepEntry, Start, Camera):
        for field in msgspec.structs.fields(struct):
            assert re.search(rf"\b{field.encode_name}\b", TEXT.split("## Scene file")[1]), field.encode_name


def test_every_word_of_an_address_is_documented() -> None:
    part = TEXT.split("## A state's address")[1].split("## Scene file")[0]
    faults, deviations = {"pump", "regulator", "filter", "leak", "bearings", "supply"}, set("abcde")
    for word in address._names():
        known = word in faults or (word.startswith("dev") and word[-1] in deviations)
        assert known or re.search(rf"`{word}-?`", part), word


def test_the_limits_are_those_of_the_code() -> None:
    assert f"{GREATEST_MESSAGE} characters" in TEXT
    assert f"burst of {BURST:g}" in TEXT
    assert f"after {PATIENCE} the connection" in TEXT
