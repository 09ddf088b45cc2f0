"""Deleting after a confirmation, and the bin, from which things are brought back or deleted for good."""

from collections.abc import Mapping
from pathlib import Path
from typing import cast
from urllib.parse import quote

from lubberline.classroom.demo_class import read_class
from lubberline.store.backup import line_of_file
from lubberline.store.bin.belongings import FILES, Kind
from lubberline.store.bin.contents import Binned, Deletable
from lubberline.store.fleet import demo_folder
from lubberline.store.settings import key_of
from lubberline.web.aircraft.fleet import craft_of
from lubberline.web.callers import own_address
from lubberline.web.kit import Form, InputError, Request, Response, get, go_to, page, post, records, shared
from lubberline.web.shelf import Shelf

# The pages that list things, and the page of a thing by its key.
LISTED = {
    "sitting": "/sittings",
    "aircraft": "/aircraft",
    "lesson": "/lessons",
    "scene": "/scenes",
    "items": "/questions/own",
    "words": "/school/words",
    "draft": "/lessons",
}
# The kind of file whose drafts have this word before their names in the bin.
DRAWER = {"scenes": "scene", "items": "items", "words": "words"}
STANDS = {
    "student": "/results/student/",
    "sitting": "/sittings/",
    "lesson": "/lessons/",
    "scene": "/scenes/",
    "items": "/questions/own/",
    "words": "/school/words/",
}


def _thing(request: Request, fields: Mapping[str, str]) -> Deletable:
    """The thing to delete.

    Raises:
        InputError: there is no such thing, or it came with the program.
    """
    school, kind, key = records(request), fields.get("kind", ""), fields.get("key", "")
    if kind in FILES:
        return shared(request).shelves.of(kind, key).deletable(kind, key.rpartition("/")[2])
    if kind == "aircraft":
        craft = craft_of(school, key)
        if craft.invented:
            raise InputError("aircraft", f"{craft.name} came with the program", "choose one that you added")
        return school.bin.deletable("aircraft", craft.name)
    if kind in ("class", "demo") and school.demo.find() is not None:
        # The demo class's own students and sittings must be known before any are counted or deleted.
        school.demo.settle(read_class(demo_folder() / "class"))
    if kind not in ("class", "demo", "student", "sitting", "entry"):
        raise InputError("kind", f"'{kind[:20]}' cannot be deleted here", "use the page's buttons")
    return school.bin.deletable(cast("Kind", kind), key)


def _shelf(request: Request, thing: Deletable) -> Shelf | None:
    """Where a file is; None for what is in the records."""
    return shared(request).shelves.of(thing.kind, thing.key) if thing.kind in FILES else None


def _copies(request: Request, thing: Deletable) -> tuple[Path, ...]:
    """The program's own copies of the records that contain something."""
    shelf = _shelf(request, thing)
    held = thing.key
    if shelf is not None:
        inner = "drafts/" if thing.kind == "draft" else ""
        held = line_of_file(f"{shelf.sort.folder}/{inner}{thing.key.rpartition('/')[2]}{shelf.sort.ending}")
    return records(request).copies.holding(held)


def _parts(request: Request, thing: Deletable) -> list[Binned]:
    """Parts of something already in the bin."""
    return [one for one in records(request).bin.entries() if one.part_of == thing.key]


def _not_sure() -> InputError:
    return InputError("delete for good", "not confirmed", "tick the box; this cannot be undone")


def _delete_copies(copies: tuple[Path, ...]) -> None:
    for copy in copies:
        try:
            copy.unlink(missing_ok=True)
        except OSError as error:
            wrong = f"the copy could not be deleted ({error.strerror}); everything else is deleted"
            raise InputError(copy.name, wrong, "delete it by hand") from None


def ask(request: Request, form: Form | None = None, error: InputError | None = None) -> Response:
    """GET /school/delete: what would be deleted, with the choices."""
    fields = request.query_params if form is None else form
    school, thing = records(request), _thing(request, fields)
    sitting = school.sittings.sitting(thing.key) if thing.kind == "sitting" else None
    return page(
        request,
        "school/delete.html",
        error,
        thing=thing,
        group=next((one.title for one in school.people.groups() if one.id == thing.part_of), ""),
        is_open=bool(sitting and not sitting.closed_utc),
        parts=_parts(request, thing),
        copies=_copies(request, thing),
        key=fields.get("key", ""),
        back=own_address(fields.get("back", "")),
    )


def _after(thing: Deletable, back: str) -> str:
    """The page after a deletion: back, or the list."""
    if not back and thing.kind == "entry":
        return f"/aircraft/{key_of(thing.part_of)}"
    return back or LISTED.get(thing.kind, "/school/people")


def delete(request: Request, form: Form) -> Response:
    """POST /school/delete: moves it to the bin, or deletes it for good."""
    school, thing = records(request), _thing(request, form)
    after = _after(thing, own_address(form.get("back", "")))
    if form.get("do") != "for good":
        shelf = _shelf(request, thing)
        binned = shelf.put_in(school.bin, thing) if shelf else school.bin.delete(thing.kind, thing.key)
        return go_to(after, binned=binned.id)
    if form.get("sure") != "1":
        return ask(request, form, _not_sure())
    copies = _copies(request, thing) if form.get("copies") == "1" else ()
    if shelf := _shelf(request, thing):
        shelf.delete(thing.kind, thing.key)
    else:
        school.bin.delete_for_good(thing.kind, thing.key)
    _delete_copies(copies)
    return go_to(after, "deleted")


# The bin


def show(request: Request, remarks: tuple[str, ...] = ()) -> Response:
    """GET /school/bin: the deleted things that can be brought back."""
    return page(request, "school/bin.html", entries=records(request).bin.entries(), remarks=remarks)


def show_entry(request: Request) -> Response:
    """GET /school/bin/ID: asks before deleting something for good."""
    thing = records(request).bin.entry(request.path_params["id"])
    parts, copies = _parts(request, thing), _copies(request, thing)
    return page(request, "school/bin_entry.html", thing=thing, parts=parts, copies=copies)


def address_of(thing: Deletable) -> str:
    """The page of something brought back."""
    if thing.kind in ("aircraft", "entry"):
        return f"/aircraft/{key_of(thing.key if thing.kind == 'aircraft' else thing.part_of)}"
    if thing.kind == "draft":
        folder, _, name = thing.key.rpartition("/")
        return f"{STANDS[DRAWER.get(folder, 'lesson')]}{quote(name)}"
    return f"{STANDS[thing.kind]}{quote(thing.key)}" if thing.kind in STANDS else "/school/people"


def change(request: Request, form: Form) -> Response:
    """POST /school/bin/ID: brings it back, or deletes it for good."""
    school, id = records(request), request.path_params["id"]
    if form.get("do") != "for good":
        brought = school.bin.bring_back(id, shared(request).shelves)
        if brought.remarks:
            return show(request, brought.remarks)
        return go_to(address_of(brought.thing), "brought-back")
    thing = school.bin.entry(id)
    if form.get("sure") != "1":
        raise _not_sure()
    copies = _copies(request, thing) if form.get("copies") == "1" else ()
    school.bin.empty(id)
    _delete_copies(copies)
    return go_to("/school/bin", "deleted")


ROUTES = [
    get("/school/delete", ask),
    post("/school/delete", delete),
    get("/school/bin", show),
    get("/school/bin/{id}", show_entry),
    post("/school/bin/{id}", change),
]
