"""Plain English: nothing that people read holds a phrase from the list of those that were found wanting."""

import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
# Each with what it says now. Ids, columns, file keys, options and addresses keep their spelling.
INSTEAD = {
    r"the journey": "transport wander",
    r"unbalance": "imbalance",
    r"vertical gimbal": "outer gimbal",
    r"rightly set": "set correctly",
    r"at the shortest|at the soonest": "at the earliest",
    r"the air it meets": "relative airflow",
    r"invented class|made-up": "demo class",
    r"\bsick\b": "at fault",
    r"it or its air": "the instrument or its suction",
    r"have it looked at": "have it checked by an engineer",
    r"made of that": "these rows were almost ignored",
    r"bits\)": "this reading would best tell the faults apart",
    r"teach again": "reteach",
    r"laws more": "more points",
    r"nine times in ten": "90% range",
    r"read the picture": "scan the code",
    r"ready again": "reset",
    r"pass over": "skip",
    r"take the file": "download",
    r"kept nowhere": "not saved",
    r"take the .* class out": "delete the class",
    r"signs that are none": "characters",
    r"lead page": "instructor's page",
    r"is no number|that is none": "is not a number",
    r"goes by the": "varies with the",
    r"turns a minute": "rpm",
    r"\blest\b": "(leave it out)",
}
READ = (
    *("README.md", "CONTRIBUTING.md", "CHANGELOG.md", "start.py", "docs", "demo"),
    *("src", "frontend/src", "tools", "benchmarks"),
)
KINDS = frozenset({".py", ".md", ".html", ".ts", ".css", ".toml", ".json", ".csv", ".txt", ".typ"})
# Names in the records, which keep their spelling.
IDS = re.compile(r'"made-up class(, own)?"')
PATTERN = re.compile("|".join(f"(?:{words})" for words in INSTEAD), re.IGNORECASE)


def offenders(text: str) -> Iterator[tuple[int, str]]:
    """Lines with such a phrase, by number, and what to say in its place."""
    for number, line in enumerate(text.splitlines(), start=1):
        for found in PATTERN.finditer(IDS.sub("", line)):
            words = found.group(0)
            instead = next(new for old, new in INSTEAD.items() if re.fullmatch(old, words, re.IGNORECASE))
            yield number, f"'{words}': {instead}"


def test_nothing_that_people_read_says_it_that_way() -> None:
    listed = subprocess.run(["git", "ls-files", *READ], cwd=ROOT, check=True, capture_output=True, text=True)
    files = [ROOT / name for name in listed.stdout.splitlines() if Path(name).suffix in KINDS]
    assert len(files) > 500
    found = [
        f"{path.relative_to(ROOT)}:{number}: {words}"
        for path in files
        for number, words in offenders(path.read_text(encoding="utf-8"))
    ]
    assert found == []


def test_each_phrase_is_found() -> None:
    said = "Rightly set, the journey makes it sick: have it looked at, lest it goes by the sine (0.3 bits)."
    assert len(list(offenders(said))) == 7
    assert list(offenders("The latest classic reads basic numbers; a journey is best.")) == []
