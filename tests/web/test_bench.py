"""The bench's page as the server renders it, and the accounts of the causes against the engine's frame."""

import gzip
import json
import re

import pytest

from lubberline.publish.figures.causes import CAUSE_TEXTS
from lubberline.simulation.bench import Bench
from lubberline.simulation.flown import LEDGER_COLUMNS
from lubberline.web.kit import STATIC

CAUSES = LEDGER_COLUMNS[1:-1]
LIMIT_BYTES = 350_000


@pytest.fixture(scope="module")
def frame():
    bench = Bench()
    bench.advance(5)
    return bench.frame()


def value_at(frame, path):
    value = frame
    for name in path.split("."):
        value = value[name]
    return value


def given_causes(text):
    return json.loads(re.search(r'<script type="application/json" id="causes">(.*?)</script>', text, re.S)[1])


def test_every_column_of_the_ledger_has_an_account():
    assert {f"{name}_deg" for name in CAUSE_TEXTS} == set(CAUSES)
    for account in CAUSE_TEXTS.values():
        assert account.what.endswith(".")
        assert account.source


@pytest.mark.parametrize("name", CAUSE_TEXTS)
def test_every_place_in_an_account_is_a_number_of_the_frame(name, frame):
    account = CAUSE_TEXTS[name]
    places = re.findall(r"\{([^{}]*)\}", account.numbers)
    assert places
    for place in places:
        path, _, form = place.partition(":")
        assert re.fullmatch(r"\+?\d|e", form), place
        assert isinstance(value_at(frame, path), int | float), place
    if account.rate:
        assert account.rate in frame["rates"]


def test_rates_without_an_account_would_not_be_shown(frame):
    assert {account.rate for account in CAUSE_TEXTS.values()} - {""} == set(frame["rates"])


def test_the_page_carries_causes_cautions_and_no_script_of_its_own(call):
    answer = call.get("/bench")
    assert answer.status_code == 200
    assert next(cause["key"] for cause in given_causes(answer.text)) == "earth_deg"
    assert {cause["key"] for cause in given_causes(answer.text)} == set(CAUSES)
    assert "For teaching only" in answer.text
    # The policy forbids inline script and style; a data block is neither.
    assert re.findall(r"<script(?![^>]*(src=|application/json))", answer.text) == []
    assert not re.search(r"<style|\sstyle=|\son\w+=", answer.text)
    assert answer.headers["content-security-policy"].startswith("default-src 'none'; script-src 'self'")


def test_the_scripts_of_the_bench_stay_small():
    scripts = [path for path in STATIC.glob("*.js") if path.name != "flights.js"]
    if not scripts:
        pytest.skip("the pages are not built: python -m tools.start.pages")
    total = sum(len(gzip.compress(path.read_bytes())) for path in scripts)
    assert total < LIMIT_BYTES
