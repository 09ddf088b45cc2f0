"""A school in memory with a paper that is open."""

from typing import Any

import pytest

from lubberline.classroom.records import Sitting
from lubberline.store.school import School, open_school
from lubberline.web.app import create_app
from tests.web.caller import Caller
from tests.web.papers import opened


@pytest.fixture
def school() -> Any:
    found = open_school("memory")
    yield found
    found.close()


@pytest.fixture
def call(school: School) -> Caller:
    return Caller(create_app(school=school))


@pytest.fixture
def sitting(school: School) -> Sitting:
    return opened(school)
