"""The frozen numbers: how each kind is found by the program of today, kept in files, and compared.

    PYTHONPATH=. python -m tests.frozen.numbers [KIND ...]

writes them anew, all or those named. Whoever does so names in CHANGELOG.md which numbers moved, from what, to
what; `README.md` beside says more.
"""

import csv
import gzip
import io
import json
import math
import sys
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import msgspec

from lubberline.classroom.demo_term import demo_class
from lubberline.classroom.exam import usual_exam
from lubberline.classroom.records import Group
from lubberline.flight.motion import STEP_S
from lubberline.questions.bank import models
from lubberline.questions.generate import generate
from lubberline.simulation.aircraft import read_aircraft
from lubberline.simulation.bench import Bench
from lubberline.simulation.fitted import Frame
from lubberline.simulation.flown import Columns
from lubberline.simulation.flying import fly
from lubberline.simulation.live.scene import Scene
from lubberline.simulation.scenes import library, moments_of, number_in, state_address
from lubberline.store.fleet import demo_folder
from lubberline.store.school import School, open_school
from lubberline.upkeep.judge import judge
from lubberline.upkeep.log import read_log
from lubberline.web.results import findings
from lubberline.web.results.findings import gather
from tests.frozen.records import copied_sqlite

FOLDER = Path(__file__).parent / "numbers"
SEEDS = 50
MINUTE_ROWS = 60
# What is kept of a number: a hundred times finer than what is asked for.
DIGITS = 12
RELATIVE = 1e-9
# In the unit of each number. Errors, parts of a ledger and residuals in degrees are differences of headings
# and inherit the rounding of 360; below a billionth a probability or a share says nothing any more.
ABSOLUTE = 1e-9
# Fields that hold sentences, which may change.
WORDS = {
    *(
        "answered",
        "assumed",
        "cautions",
        "event",
        "flags",
        "mend",
        "mends",
        "next_observation",
        "note",
        "notes",
    ),
    *(
        "reasons",
        "rule_of_thumb",
        "scene",
        "scenes",
        "sentence",
        "statement",
        "statements",
        "stem",
        "text",
        "title",
    ),
    *("typed", "words"),
}
AIRCRAFT = ("zz_oak", "zz_elm", "zz_ash", "zz_fir")
Found = dict[str, Any]


def plain(value: Any, names: Mapping[str, str] | None = None) -> Any:
    """Numbers, flags, ids and verdicts of a record, without its sentences; `names` stands for ids."""
    names = names or {}
    if isinstance(value, msgspec.Struct):
        value = {name: getattr(value, name) for name in value.__struct_fields__}
    if isinstance(value, Mapping):
        kept = {key: one for key, one in value.items() if not _is_words(key, one)}
        rows = {names.get(key, key): plain(one, names) for key, one in kept.items()}
        return dict(sorted(rows.items()))
    if isinstance(value, str):
        return names.get(value, value)
    if isinstance(value, Iterable):
        listed = [plain(one, names) for one in value]
        # Ids are drawn anew for each class, and with them the order in which they stand.
        is_names = bool(listed) and all(isinstance(one, str) and one in names.values() for one in listed)
        return sorted(listed) if is_names else listed
    return float(f"{value:.{DIGITS}g}") if isinstance(value, float) else value


def _is_words(name: str, value: Any) -> bool:
    """Whether a field holds a sentence; what an idea expects is a number, or an option's text."""
    return name in WORDS or (name == "expected" and isinstance(value, str))


def scene(id: str) -> Found:
    """A scene's addresses, at its start and its end, and the numbers behind its claims; a tour's by step."""
    own = library()[id]
    found = {"address": f"/bench?scene={id}"} | flown(own)[0]
    return found | ({"steps": [flown(step.scene)[0] for step in own.steps]} if own.steps else {})


def flown(own: Scene, more: Iterable[int] = ()) -> tuple[Found, dict[int, Frame]]:
    """The numbers of a scene or a step, and its frames by step: at its claims, and at `more` of its steps."""
    bench = Bench(own)
    begins, frames = state_address(bench), {}
    for step in sorted({*moments_of(own, own.length_s), *more}):
        bench.advance(step - bench.state.step)
        frames[step] = bench.frame()
    claims = {
        f"{claim.name} at {claim.at_s:g} s": number_in(frames[round(claim.at_s / STEP_S)], claim.name)
        for claim in own.entry.claim
    }
    return {"begins": begins, "ends": state_address(bench), "claims": claims}, frames


def scenes() -> Found:
    """All scenes."""
    return {id: scene(id) for id in library()}


def _by_minute(columns: Columns) -> Found:
    kept = {name: column[::MINUTE_ROWS] for name, column in columns.items() if name not in WORDS}
    return {name: [plain(value) for value in column.astype(float).tolist()] for name, column in kept.items()}


def flights() -> Found:
    """Each demo flight with the healthy aircraft, and one with each: trace and ledgers, a row a minute."""
    folder = demo_folder()
    asked = [(path.stem, AIRCRAFT[0]) for path in sorted((folder / "flights").glob("*.toml"))]
    asked += [("short_circuit", aircraft) for aircraft in AIRCRAFT[1:]]
    found = {}
    for flight, aircraft in asked:
        flown = fly(folder / "flights" / f"{flight}.toml", folder / "aircraft" / f"{aircraft}.toml")
        found[f"{flight} {aircraft}"] = {
            "trace": _by_minute(flown.trace),
            "ledger": _by_minute(flown.ledger),
            "compass_ledger": _by_minute(flown.compass_ledger),
        }
    return found


def items(seeds: Iterable[int] = range(SEEDS)) -> Found:
    """What each item model makes of each seed, as cells of a table: all but its words."""
    found = {}
    for seed in seeds:
        for id, model in models().items():
            item = generate(model, seed)
            found[f"{id} {seed}"] = {
                "id": item.id,
                "kind": f"{item.topic} {item.level} {item.kind}",
                "key": str(item.key),
                "ideas": "|".join(option.misconception for option in item.options),
                "values": "|".join(_cell(option.value) for option in item.options),
                "answer": _cell(item.answer),
                "tolerance": _cell(item.tolerance),
                "unit": item.unit,
                "slip_ideas": "|".join(slip.misconception for slip in item.slips),
                "slip_values": "|".join(_cell(slip.value) for slip in item.slips),
                "circle": str(item.circle),
                "difficulty": _cell(item.difficulty),
                "drawn": json.dumps(item.drawn, sort_keys=True, ensure_ascii=False),
            }
    return found


def _cell(value: float | None) -> str:
    return "" if value is None else f"{value:.{DIGITS}g}"


def class_numbers(school: School, group: Group) -> Found:
    """Diagnosis and readiness of a class, as its results page reckons them."""
    gathered = gather(school, group)
    names = {one.id: one.name for one in gathered.students}
    names |= {one.id: one.title for one in gathered.sittings}
    exam = usual_exam()
    return {
        "diagnosis": plain(findings.diagnoses(gathered), names),
        "class": plain(findings.picture(gathered), names),
        "teach again": plain(findings.again(gathered), names),
        "readiness": {
            names[one.student]: plain(one, names) for one in findings.ready(gathered, exam).students
        },
    }


def statistics(school: School, group: Group) -> Found:
    """Item statistics of a class. Students with equal totals are told apart by their ids' order."""
    gathered = gather(school, group)
    return {one.title: plain(findings.statistics(gathered, one)) for one in gathered.sittings}


def old_classes() -> Found:
    """The classes of the frozen records."""
    with tempfile.TemporaryDirectory() as folder:
        school = open_school(copied_sqlite(Path(folder)))
        try:
            return {
                group.title: {**class_numbers(school, group), "statistics": statistics(school, group)}
                for group in school.people.groups()
            }
        finally:
            school.close()


def demo() -> Found:
    """The demo class as the program makes it up today."""
    school = open_school("memory")
    try:
        group = school.demo.add(demo_class(demo_folder() / "class"))
        return class_numbers(school, group)
    finally:
        school.close()


def verdicts() -> Found:
    """What the log of each demo aircraft is judged to say."""
    found = {}
    for stem in AIRCRAFT:
        aircraft = read_aircraft(demo_folder() / "aircraft" / f"{stem}.toml")
        found[stem] = plain(judge(read_log(demo_folder() / "logs" / f"{stem}.csv", aircraft.name), aircraft))
    return found


KINDS: dict[str, Callable[[], Found]] = {
    "scenes": scenes,
    "flights": flights,
    "items": items,
    "old_classes": old_classes,
    "demo": demo,
    "verdicts": verdicts,
}


def path_of(kind: str) -> Path:
    """The file of a kind."""
    return FOLDER / (f"{kind}.csv.gz" if kind == "items" else f"{kind}.json.gz")


def _as_csv(found: Found) -> str:
    held = io.StringIO()
    columns = ["item", *next(iter(found.values()))]
    table = csv.writer(held, lineterminator="\n")
    table.writerow(columns)
    table.writerows([name, *row.values()] for name, row in found.items())
    return held.getvalue()


def frozen(kind: str) -> Found:
    """The numbers as they were frozen."""
    text = gzip.decompress(path_of(kind).read_bytes()).decode("utf-8")
    if kind != "items":
        found: Found = json.loads(text)
        return found
    return {row.pop("item"): row for row in csv.DictReader(io.StringIO(text))}


def differences(then: Any, now: Any, where: str = "") -> Iterator[str]:
    """Where two sets of numbers differ: texts and whole numbers exactly, others beyond the tolerances."""
    if isinstance(then, dict) and isinstance(now, dict):
        for name in then.keys() | now.keys():
            if name not in then or name not in now:
                yield f"{where}/{name}: only {'now' if name in now else 'then'}"
            else:
                yield from differences(then[name], now[name], f"{where}/{name}")
    elif isinstance(then, list) and isinstance(now, list):
        if len(then) != len(now):
            yield f"{where}: {len(then)} then, {len(now)} now"
        for place, (old, new) in enumerate(zip(then, now, strict=False)):
            yield from differences(old, new, f"{where}[{place}]")
    elif not _same(then, now):
        yield f"{where}: {then} then, {now} now"


def _same(then: Any, now: Any) -> bool:
    if isinstance(then, float) and isinstance(now, float):
        if math.isnan(then) or math.isnan(now):
            return math.isnan(then) and math.isnan(now)
        return math.isclose(then, now, rel_tol=RELATIVE, abs_tol=ABSOLUTE)
    if isinstance(then, str) and isinstance(now, str) and then != now:
        return _same_cells(then, now)
    return type(then) is type(now) and bool(then == now)


def _same_cells(then: str, now: str) -> bool:
    """Cells of a table: numbers between bars, or a text."""
    old, new = then.split("|"), now.split("|")
    if len(old) != len(new):
        return False
    try:
        return all(a == b or _same(float(a), float(b)) for a, b in zip(old, new, strict=True))
    except ValueError:
        return False


def main() -> None:
    """Writes the kinds that are named, or all."""
    for kind in sys.argv[1:] or KINDS:
        found = KINDS[kind]()
        text = _as_csv(found) if kind == "items" else json.dumps(found, ensure_ascii=False, sort_keys=True)
        path_of(kind).write_bytes(gzip.compress(text.encode("utf-8"), 9, mtime=0))
        print(f"wrote {path_of(kind)}: {path_of(kind).stat().st_size} bytes")


if __name__ == "__main__":
    main()
