"""The page as the server renders it, read without script."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from starlette.datastructures import QueryParams

from lubberline.publish.words import until
from lubberline.web.app import PAGES
from lubberline.web.flights.pages import fault_fields
from lubberline.web.flights.query import FlightQuery, query_in_address
from lubberline.web.kit import duration
from tests.web.pretend import HOSTILE


class Reader(HTMLParser):
    """Collects scripts, inline handlers and styles, and addresses."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.inline: list[str] = []
        self.addresses: list[str] = []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        if tag == "style" or (tag == "script" and "src" not in given):
            self.inline.append(tag)
        self.inline += [name for name in given if name == "style" or name.startswith("on")]
        self.addresses += [given[name] for name in ("src", "href", "action") if given.get(name)]


def test_the_page_is_complete_without_script(call):
    html = call.get("/flights?flight=plain").text
    assert "The card falls by 3.0° in 15 min on average" in html
    assert "Earth&#39;s turning" in html
    assert "−3.0" in html
    assert until(5, None) in html
    assert "a silence of 17 min" in html
    assert "Heading is taken as track." in html
    assert "For teaching only." in html
    assert "2 h 00 min" in html


def test_nothing_is_inline_and_nothing_leaves_this_machine(call):
    read = Reader(call.get("/flights").text)
    assert read.inline == []
    assert all(address.startswith(("/", "#", "data:,")) for address in read.addresses)


def test_a_hostile_title_is_text(call):
    html = call.get("/flights?flight=hostile").text
    assert HOSTILE not in html
    assert "<script>alert" not in html


@pytest.mark.parametrize(
    "query",
    [
        "flight=<script>x</script>",
        'wind="><script>x',
        "set_every_min=<b>",
        "reference=<i>",
        "fault=gremlin@1",
    ],
)
def test_hostile_words_in_the_address_are_text_too(call, query):
    response = call.get(f"/flights?{query}")
    assert "<script>x" not in response.text
    assert "<b>" not in response.text
    assert "<script>alert" not in response.text


def test_a_wrong_address_says_what_is_wrong_and_keeps_the_form(call):
    response = call.get("/flights?flight=plian")
    assert response.status_code == 422
    assert "did you mean &#39;plain&#39;?" in response.text
    assert '<select id="flight"' in response.text
    assert "For teaching only" in response.text


def test_the_form_without_script_is_led_to_a_short_address(call):
    sent = "flight=plain&aircraft=zz_two&set_every_min=&set_from=&reference=magnetic&wind=&believe="
    rows = "&fault_name=filter&fault_size=0.8&fault_at_min=20&fault_name=&fault_size=&fault_at_min="
    response = call.get(f"/flights?{sent}{rows}")
    assert response.status_code == 303
    assert response.headers["location"] == "/flights?flight=plain&aircraft=zz_two&fault=filter=0.8@20"


def test_every_state_comes_back_from_its_address():
    asked = FlightQuery(
        flight="plain",
        aircraft="zz_two",
        set_every_min=12.5,
        set_from="truth",
        true_reference=True,
        wind="270/15",
        faults=("filter=0.8@20", "pump@45"),
        believe=("no-earth-wander",),
        seed=7,
    )
    assert query_in_address(QueryParams(asked.address()[1:])) == asked


def test_the_form_shows_the_state_of_the_address(call):
    html = call.get(
        "/flights?flight=plain&aircraft=zz_two&reference=true&wind=270/15&fault=filter=0.8@20"
    ).text
    assert '<option value="zz_two" selected>' in html
    assert '<option value="true" selected>' in html
    assert 'value="270/15"' in html
    assert 'name="fault_size" type="number" min="0" step="any" inputmode="decimal" value="0.8"' in html


def test_the_scheme_of_the_cookie_is_in_the_page_and_no_other_word(call):
    assert 'data-theme="dark"' in call.get("/flights", headers={"cookie": "theme=dark"}).text
    assert "data-theme" not in call.get("/flights", headers={"cookie": 'theme="onx'}).text


def test_small_words():
    assert duration(125.4) == "2 h 05 min"
    assert duration(59.4) == "59 min"
    assert fault_fields("filter=0.8@20") == ("filter", "0.8", "20")
    assert fault_fields("pump@45") == ("pump", "", "45")


def test_notices_name_the_libraries_that_the_pages_carry(call, monkeypatch, tmp_path):
    (tmp_path / "notices.md").write_text("# Licenses\n\n## some-library - 1.0 (MIT)\n\nFree <to> use.\n")
    monkeypatch.setattr("lubberline.web.notices.FILE", tmp_path / "notices.md")
    told = call.get("/notices").text
    assert "<h2>some-library - 1.0 (MIT)</h2>" in told
    assert "Free &lt;to&gt; use." in told


def test_the_page_of_addresses_names_those_that_give_json():
    text = (Path(__file__).parents[2] / "docs" / "developers" / "endpoints.md").read_text(encoding="utf-8")
    addresses = {route.path for page in PAGES for route in page.routes}
    for_scripts = {
        one for one in addresses if re.search(r"/(state|line|socket|answer|hand-in|now|move|log)$|^/api", one)
    }
    for_scripts -= {"/sittings/{sitting}/move", "/school/restore/now"}
    assert {one for one in for_scripts if one not in text} == set()
    assert {one for one in re.findall(r"`(?:GET |POST )?(/[\w/{}-]+)", text) if one not in addresses} == set()
