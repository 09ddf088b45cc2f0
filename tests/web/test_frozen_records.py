"""The pages of a school whose records an earlier program made."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from tests.frozen.records import PASSPHRASE, copied_sqlite
from tests.web.caller import Caller


@pytest.fixture
def school(tmp_path: Path) -> Iterator[School]:
    opened = open_school(copied_sqlite(tmp_path))
    yield opened
    opened.close()


def check_pages(school: School, wanted: dict[str, tuple[str, ...]]) -> None:
    """Each page answers to whoever has the passphrase of then, and has these words."""
    call = Caller(create_app(school=school))
    assert call.get("/sittings").status_code != 200
    entered = call.post("/login", data={"passphrase": PASSPHRASE})
    cookie = "; ".join(f"{name}={value}" for name, value in entered.cookies.items())
    for address, words in wanted.items():
        page = call.get(address, headers={"cookie": cookie})
        assert page.status_code == 200, address
        for word in words:
            assert word in page.text, (address, word)


def test_pages_of_the_old_records_open(school: School) -> None:
    own = school.people.groups()[1]
    papers = [one for one in school.sittings.listing(own.id) if one.kind == "paper"]
    check_pages(
        school,
        {
            "/school": ("Lakeside (invented)",),
            "/school/people": ("Autumn evening",),
            "/sittings": ("Locked paper", "Still open", "On paper"),
            **{f"/sittings/{one.id}": (one.title,) for one in papers},
            "/aircraft": ("ZZ-YEW", "ZZ-ELM"),
        },
    )


@pytest.mark.acceptance
def test_pages_that_reckon_with_the_old_records_open(school: School) -> None:
    demo, own = school.people.groups()
    (lesson,) = (one for one in school.sittings.listing(own.id) if one.kind == "lesson")
    someone = school.people.students(demo.id)[0]
    check_pages(
        school,
        {
            f"/teach/{lesson.id}": (lesson.title, lesson.code),
            f"/results?group={own.id}": ("Mira Tal",),
            f"/results?group={demo.id}": (someone.name,),
            f"/results/student/{someone.id}": (someone.name,),
            "/aircraft/zz-yew": ("filter changed", "N4745.4 E00626.3"),
        },
    )
