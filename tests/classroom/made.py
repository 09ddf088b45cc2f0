"""Questions and answers for the tests of the classroom."""

from lubberline.classroom.marking import marked_answer
from lubberline.classroom.records import Answer, Asked, Marked, Sitting
from lubberline.questions.item import Item, Option

CHOICE = Item(
    model="m-choice",
    topic="wander",
    level="apply",
    kind="choice",
    stem="Which?",
    options=(
        Option("nothing", "no-earth-wander", "It drifts."),
        Option("falls", "", "Right."),
        Option("rises", "rises-in-the-north", "It falls."),
    ),
    key=1,
    reason="Because.",
    source="common practice, no source",
    drawn={"n": 1.0},
    difficulty=0.5,
)
DIAL = Item(
    model="m-dial",
    topic="wander",
    level="apply",
    kind="number",
    stem="Where?",
    options=(),
    key=-1,
    reason="It falls by 3.",
    source="common practice, no source",
    drawn={"n": 2.0},
    difficulty=0.5,
    answer=358.0,
    tolerance=1.5,
    unit="deg",
    circle=True,
    slips=(
        Option("001", "rises-in-the-north", "It falls, and does not rise.", 1.0),
        Option("354", "same-wander-everywhere", "Not the same everywhere.", 354.0),
        Option("355", "no-wander-at-poles", "The other way about.", 355.5),
    ),
)


def sitting(kind: str = "paper", *, forms: tuple[str, ...] = ("",)) -> Sitting:
    asked = tuple(
        Asked(f"{form}{number}", item, form)
        for form in forms
        for number, item in enumerate((CHOICE, DIAL), start=1)
    )
    return Sitting("s", "g", kind, "Paper", "2026-01-01T10:00:00Z", asked=asked)  # type: ignore[arg-type]


def chose(student: str, key: str, chosen: int) -> Answer:
    return Answer("s", student, key, chosen=chosen)


def put(student: str, key: str, value: float) -> Answer:
    return Answer("s", student, key, value=value)


def table_of_marks(rows: list[list[int]]) -> tuple[Marked, ...]:
    """Marks from a table of 0 and 1: a row a student, each question a model of its own."""
    import msgspec

    found = []
    for k, row in enumerate(rows):
        for j, right in enumerate(row):
            item = msgspec.structs.replace(CHOICE, model=f"m{j}")
            found.append(marked_answer(Answer("s", f"p{k}", f"{j + 1}", chosen=1 if right else 0), item))
    return tuple(found)
