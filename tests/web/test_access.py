"""The checker itself: it finds what is broken, and does not pass a page on which there is nothing."""

import pytest

from tests.web.access import broken_rules

pytestmark = pytest.mark.browser

PAGE = """<!doctype html><html lang="en"><title>A page</title><main><h1>Suction</h1>
<p style="color:{ink};background:#fff">4.9 inHg</p><a href="#here">A link</a><h2 id="here">Here</h2>
<button>Set it</button><label>Heading <input name="heading"></label></main>"""


def test_what_is_broken_is_found(watched):
    watched.page.set_content(PAGE.format(ink="#333"))
    assert broken_rules(watched.page) == []
    watched.page.set_content(PAGE.format(ink="#ccc").replace("<label>Heading", "<label></label>"))
    assert {name for name, _ in broken_rules(watched.page)} == {"color-contrast", "label"}


def test_an_empty_page_is_no_good_page(watched):
    watched.page.set_content("<p>nothing</p>")
    with pytest.raises(AssertionError):
        broken_rules(watched.page)
