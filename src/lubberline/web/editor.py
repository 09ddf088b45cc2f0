"""The pages of one sort of own files: begin, edit beside a preview, save, discard, download.

Complete without script. What has been typed is kept as a draft; two people who edit one file do not overwrite
each other, as a text is saved only over the one that it was made from.
"""

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import Any, NamedTuple

from lubberline.web.kit import (
    NO_FORM,
    Form,
    InputError,
    Refused,
    Request,
    Response,
    Route,
    file,
    get,
    go_to,
    page,
    post,
    records,
    required,
    shared,
)
from lubberline.web.shelf import Shelf, checked_name, digest_of

MOST_BYTES = 200_000


class Look(NamedTuple):
    """What is shown beside a text.

    Attributes:
        seen: for the template; None if the text has errors.
        faults: all its errors, the first of which stands at the head of the page.
    """

    seen: Any
    faults: Sequence[InputError] = ()


class Editor(NamedTuple):
    """A sort of files in pages.

    Attributes:
        kind: of the files, as on their shelf.
        address: of the list.
        template: of the editor.
        sample: the text of a new file by its name.
        look: what is shown beside a text, by the file's name; may raise its error instead.
        renamed: a text for a file of another name.
        title: of the list, where it has no template of its own.
        about: the sentence below it.
        given: what else the template of the editor needs.
    """

    kind: str
    address: str
    template: str
    sample: Callable[[str], str]
    look: Callable[[Request, str, str], Look]
    renamed: Callable[[str, str], str] = lambda text, _: text
    title: str = ""
    about: str = ""
    given: Mapping[str, Any] = {}

    def shelf(self, request: Request) -> Shelf:
        """The files."""
        shelf: Shelf = shared(request).shelves.by_kind[self.kind]
        return shelf

    def name(self, request: Request) -> str:
        """The file's name in the address.

        Raises:
            Refused: it is not a valid name.
        """
        try:
            return checked_name(request.path_params["name"])
        except InputError as error:
            raise Refused(404, error.where, error.wrong, error.right, error.code) from None

    def text(self, request: Request, name: str) -> str:
        """The text, including unsaved changes.

        Raises:
            Refused: there is no such file.
        """
        what, right = self.shelf(request).sort.what, f"choose one at {self.address}"
        refused = Refused(404, what, f"there is no {what} '{name}'", right)
        return required(self.shelf(request).text(name), refused)

    def show_list(self, request: Request, form: Form = NO_FORM, error: InputError | None = None) -> Response:
        """GET of the list: the files, and the form for a new one."""
        shelf = self.shelf(request)
        return page(
            request,
            "own_files.html",
            error,
            title=self.title,
            about=self.about,
            address=self.address,
            ending=shelf.sort.ending,
            files=shelf.listed(),
        )

    def begin(self, request: Request, form: Form) -> Response:
        """POST on the list: a new file by its name, from the sample or from a file."""
        shelf = self.shelf(request)
        given = form.get("name", "").strip()
        name = checked_name(given or (form.file.name.rpartition(".")[0].lower() if form.file else ""))
        if shelf.text(name) is not None:
            raise InputError("name", f"'{name}' exists already", "choose another name, or open it below")
        if form.file:
            text = self.renamed(form.file.text, name) if given else form.file.text
        else:
            text = self.sample(name)
        shelf.keep_draft(name, text)
        return go_to(f"{self.address}/{name}")

    def page(
        self,
        request: Request,
        name: str,
        text: str,
        error: InputError | None = None,
        based: str | None = None,
    ) -> Response:
        """The editor: the text, and its preview or its errors."""
        shelf = self.shelf(request)
        try:
            look = self.look(request, name, text)
        except InputError as found:
            look = Look(None, (found,))
        saved = shelf.saved(name)
        return page(
            request,
            self.template,
            error or next(iter(look.faults), None),
            422 if error else 200,
            address=self.address,
            kind=self.kind,
            file_name=f"{name}{shelf.sort.ending}",
            name=name,
            text=text,
            text_wrong=bool(look.faults),
            faults=look.faults if error else look.faults[1:],
            based=(digest_of(saved) if saved is not None else "") if based is None else based,
            own=shelf.is_own(name),
            deletable=shelf.is_own(name) or saved is None,
            unsaved=text != saved,
            look=look.seen,
            given=self.given,
        )

    def again(self, request: Request, form: Form, error: InputError | None) -> Response:
        """The editor with what was typed."""
        return self.page(request, self.name(request), form.get("text", ""), error, form.get("based"))

    def show(self, request: Request) -> Response:
        """GET of a file: the text, including unsaved changes, and its preview."""
        name = self.name(request)
        return self.page(request, name, self.text(request, name))

    def preview(self, request: Request, form: Form) -> Response:
        """POST: stores the text as a draft and shows it."""
        self.shelf(request).keep_draft(self.name(request), form.get("text", ""))
        return self.again(request, form, None)

    def save(self, request: Request, form: Form) -> Response:
        """POST save: writes the file, under another name if one is given."""
        name, shelf, text = self.name(request), self.shelf(request), form.get("text", "")
        other = form.get("as", "").strip()
        try:
            to = checked_name(other) if other else name
            if to == name:
                shelf.save(name, text, form.get("based", ""))
            else:
                shelf.save(to, self.renamed(text, to), "")
                shelf.drop_draft(name)
        except InputError:
            # Whatever is wrong, the text goes back to the screen.
            with suppress(InputError):
                shelf.keep_draft(name, text)
            raise
        return go_to(f"{self.address}/{to}", "saved")

    def drop(self, request: Request, form: Form) -> Response:
        """POST drop: moves unsaved changes to the bin, as on the page."""
        name, shelf = self.name(request), self.shelf(request)
        if form.get("text"):
            # Only what can be brought back as on the page goes into the bin.
            shelf.keep_draft(name, form["text"])
        address = f"{self.address}/{name}" if shelf.saved(name) is not None else self.address
        if shelf.draft(name) is None:
            return go_to(address)
        return go_to(address, binned=shelf.put_in(records(request).bin, shelf.deletable("draft", name)).id)

    def take(self, request: Request, form: Form) -> Response:
        """POST file: the text as a file, even with errors."""
        ending = self.shelf(request).sort.ending
        return file(f"{self.name(request)}{ending}", form.get("text", "").encode("utf-8", "replace"))

    def list_routes(self) -> list[Route]:
        """The routes of the list."""
        begin = post(self.address, self.begin, self.show_list, file_bytes=MOST_BYTES)
        return [get(self.address, self.show_list), begin]

    def routes(self, ending: str) -> list[Route]:
        """The routes of the editor, whose files have names with this ending."""
        one = f"{self.address}/{{name}}"
        return [
            get(one, self.show),
            post(one, self.preview, self.again),
            post(f"{one}/save", self.save, self.again),
            post(f"{one}/drop", self.drop, self.again),
            post(f"{one}/file{ending}", self.take),
        ]
