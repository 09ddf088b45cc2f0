"""The pages of the school and of its people: name and passphrase, classes and demo class."""

from functools import cache
from typing import Any
from zoneinfo import available_timezones

import msgspec

from lubberline.classroom.demo_term import Term, demo_class
from lubberline.flight.home import Home, home_from_fields, home_rows, home_text
from lubberline.questions.bank import jurisdictions
from lubberline.store.fleet import checked_home, demo_folder, fleet
from lubberline.store.settings import LONGEST_SCHOOL_NAME, PASSPHRASE, SCHOOL_NAME
from lubberline.store.times import now
from lubberline.web import passphrase
from lubberline.web.callers import caller
from lubberline.web.guard import LOGIN
from lubberline.web.kit import (
    NO_FORM,
    Form,
    InputError,
    Page,
    Refused,
    Request,
    Response,
    Room,
    School,
    file,
    get,
    go_to,
    home_for,
    number_in,
    page,
    post,
    records,
    shared,
)
from lubberline.web.records import demo_found
from lubberline.web.school import backup, deletion, words

FOLLOWING = ("Hemisphere", "Variation", "Dip", "Time zone")
NUMBERS = ("latitude_deg", "longitude_deg", "elevation_ft")
TEXTS = ("place", "time_zone", "aircraft", "regulations", "suction", "paper")


@cache
def demo_term() -> Term:
    """The demo class's term, always the same, made once."""
    return demo_class(demo_folder() / "class")


def _home_shown(request: Request, form: Form) -> dict[str, Any]:
    """What the School page shows of it: the home in use, what follows from it, and what may be chosen."""
    school = records(request)
    home = home_for(request)
    fields = {name: text for name in (*NUMBERS, *TEXTS) if (text := form.get(name)) is not None}
    return {
        "is_set": school.settings.home() is not None,
        "given": {**msgspec.to_builtins(home), **fields},
        "follows": [row for row in home_rows(home, now()) if row[0] in FOLLOWING],
        "zones": sorted(available_timezones()),
        "aircraft": fleet(school),
        "regulations": jurisdictions(),
    }


def home_in(form: Form) -> Home:
    """The home of a form.

    Raises:
        InputError: naming the field.
    """
    fields: dict[str, object] = {name: form.get(name, "").strip() for name in TEXTS}
    for name in NUMBERS:
        text = form.get(name, "").strip()
        value = number_in(text or "0")
        if not text and name != "elevation_ft":
            raise InputError(f"home, {name}", "missing", "give it in degrees; south and west are negative")
        if value != value:
            raise InputError(f"home, {name}", f"'{text[:20]}' is not a number", "give a number")
        fields[name] = value
    return home_from_fields("home", fields)


def keep_home(request: Request, form: Form) -> Response:
    """POST /school/home: sets the home."""
    school = records(request)
    school.settings.put_home(checked_home(school, home_in(form)))
    return go_to("/school", "kept")


def home_file(request: Request) -> Response:
    """GET /school/home.toml: the home in use, as a file."""
    return file("home.toml", home_text(home_for(request)).encode())


def show(request: Request, form: Form = NO_FORM, error: InputError | None = None) -> Response:
    """GET /school: the page."""
    school = records(request)
    return page(
        request,
        "school/school.html",
        error,
        school_name=school.settings.get(SCHOOL_NAME),
        **_home_shown(request, form),
        has_passphrase=passphrase.is_set(school),
        broken=school.settings.broken(),
    )


def show_people(request: Request, form: Form = NO_FORM, error: InputError | None = None) -> Response:
    """GET /school/people: the classes and their students."""
    school = records(request)
    return page(
        request,
        "school/people.html",
        error,
        groups=[(group, school.people.students(group.id)) for group in school.people.groups()],
        made_up=school.demo.find(),
        demo=demo_found(school),
    )


def rename(request: Request, form: Form) -> Response:
    """POST /school: the school's name."""
    name = " ".join(form.get("name", "").split())
    if len(name) > LONGEST_SCHOOL_NAME:
        raise InputError("name", f"{len(name)} characters", f"at most {LONGEST_SCHOOL_NAME}")
    records(request).settings.put(SCHOOL_NAME, name)
    return go_to("/school", "kept")


def change_classes(request: Request, form: Form) -> Response:
    """POST /school/classes: adds a class or student."""
    school, wanted = records(request), form.get("do", "")
    if wanted == "add class":
        school.people.add_group(form.get("title", ""))
    elif wanted == "add student":
        school.people.add_student(form.get("group", ""), form.get("name", ""), form.get("number", "").strip())
    else:
        raise InputError("do", "unknown action", "use the page's buttons")
    return go_to("/school/people", "added")


def add_demo(request: Request, form: Form) -> Response:
    """POST /school/demo: loads the demo class."""
    school = records(request)
    if demo_found(school)["binned"]:
        raise InputError("demo class", "it is in the bin", "bring it back, or delete it for good first")
    group = school.demo.add(demo_term())
    return go_to(f"/results?group={group.id}", "demo")


def _check_old(request: Request, school: School, old: str) -> None:
    """Checks the current passphrase before a change, in case a browser was left open."""
    tries, address = shared(request).login_tries, caller(request).address
    try:
        tries.check(address)
    except Refused as error:
        raise InputError("passphrase", error.wrong, error.right) from None
    if not passphrase.fits(old, school.settings.get(PASSPHRASE)):
        tries.failed(address)
        right = "type the current one; if nobody knows it: lubberline open --passphrase --forgotten"
        raise InputError("current passphrase", "wrong", right)


def set_passphrase(request: Request, form: Form) -> Response:
    """POST /school/passphrase: sets or removes the passphrase."""
    school = records(request)
    if form.get("passphrase", "") != form.get("again", ""):
        raise InputError("passphrase", "the two are different", "type the same passphrase twice")
    if passphrase.is_set(school):
        _check_old(request, school, form.get("old", ""))
    passphrase.set_passphrase(school, form.get("passphrase", ""))
    # Every session has ended, including this one.
    return go_to(f"{LOGIN}?next=/school", "set") if passphrase.is_set(school) else go_to("/school", "kept")


PAGE = Page(
    "/school/people",
    "People",
    [
        get("/school", show),
        post("/school", rename, show),
        post("/school/home", keep_home, show),
        get("/school/home.toml", home_file),
        get("/school/people", show_people),
        post("/school/classes", change_classes, show_people),
        post("/school/demo", add_demo, show_people),
        post("/school/passphrase", set_passphrase, show),
        *backup.ROUTES,
        *deletion.ROUTES,
        *words.ROUTES,
    ],
    more=[
        Room("/school", "School"),
        Room("/school/words", "Own words"),
        Room("/school/records", "Backup"),
        Room("/school/bin", "Bin"),
    ],
)
