"""A small school with an open paper, to try its pages on; browsers that hold their own cookies."""

import json
import re
from dataclasses import dataclass, field
from html import unescape
from typing import Any

import httpx

from lubberline.classroom.records import Asked, Sitting
from lubberline.questions.bank import models
from lubberline.questions.generate import generate
from lubberline.store.school import School
from tests.web.caller import Caller

WHOSE = ("records", "place", "holder")


def asked(forms: tuple[str, ...] = ("A", "B"), count: int = 4) -> tuple[Asked, ...]:
    """Choices and numbers, other values in each form."""
    kinds: dict[str, list[str]] = {"choice": [], "number": []}
    for model in models().values():
        item = generate(model, 1)
        if item.kind in kinds and len(kinds[item.kind]) < count - count // 2:
            kinds[item.kind].append(model.id)
    names = [*kinds["choice"], *kinds["number"]][:count]
    return tuple(
        Asked(f"{form}{place}", generate(models()[name], 10 + seed), form if len(forms) > 1 else "")
        for seed, form in enumerate(forms)
        for place, name in enumerate(names, start=1)
    )


def opened(school: School, **more: Any) -> Sitting:
    group = school.people.add_group("Spring")
    return school.sittings.add(group.id, "paper", "Drift", asked(), **more)


@dataclass
class Phone:
    """A browser that keeps its cookie, as a student's does."""

    call: Caller
    cookies: dict[str, str] = field(default_factory=dict)
    whose: dict[str, str] = field(default_factory=dict)

    def __call__(self, method: str, address: str, **options: Any) -> httpx.Response:
        told = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        options["headers"] = {**({"cookie": told} if told else {}), **options.get("headers", {})}
        answer = self.call.post(address, **options) if method == "POST" else self.call.get(address, **options)
        self.cookies.update(dict(answer.cookies))
        return answer

    def get(self, address: str, **options: Any) -> httpx.Response:
        return self("GET", address, **options)

    def post(self, address: str, **options: Any) -> httpx.Response:
        return self("POST", address, **options)

    def enter(self, sitting: Sitting, name: str) -> httpx.Response:
        return self.post("/join", data={"code": sitting.code, "name": name})

    def answer(self, sitting: Sitting, key: str, sent: str, **given: Any) -> httpx.Response:
        # As of the page that was opened first: a page stays open whatever becomes of its place.
        if not self.whose.get("records"):
            self.whose = whose_of(self.get(f"/sit/{sitting.id}").text)
        body = {"key": key, "sent": sent, "for": {**self.whose, "place": sitting.id}, **given}
        return self.post(f"/sit/{sitting.id}/answer", json=body)


def whose_of(html: str) -> dict[str, str]:
    """Whom a page sends for, as its script reads it."""
    found = (re.search(rf'<main [^>]*data-{name}="([^"]*)"', html) for name in WHOSE)
    return {name: match[1] if match else "" for name, match in zip(WHOSE, found, strict=True)}


def words(html: str) -> str:
    """What a page says, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def told(answer: str) -> str:
    """What a page, or the refusal of a script's request, says was wrong."""
    if answer.startswith('{"error"'):
        error = json.loads(answer)["error"]
        return f"{error['where']}: {error['wrong']}; {error['right']}"
    found = re.search(r'id="refused" role="alert">(.*?)</div>', answer, re.DOTALL)
    return words(found[1]).replace(" : ", ": ") if found else ""
