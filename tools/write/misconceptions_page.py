"""Write `docs/methods/misconceptions.md` from the table of wrong ideas.

    python tools/write/misconceptions_page.py

A test asserts that the page is up to date.
"""

from pathlib import Path

from lubberline.simulation.misconceptions import ALL, CAUSAL, FLOWN, LAW_BY_ID, QUANTITIES, STRUCTURAL, VERBAL
from lubberline.simulation.misconceptions.idea import (
    Causal,
    Misconception,
    Physical,
    Rule,
    Structural,
    Verbal,
)

DOCUMENT = Path(__file__).parents[2] / "docs" / "methods" / "misconceptions.md"

HEAD = """\
# Wrong ideas

Each wrong idea is a wrong model that can be run. \
There are {count}: {flown} physical, {causal} causal, {verbal} verbal and {structural} structural. \
`tools/write/misconceptions_page.py` writes this page from `simulation/misconceptions`, the table used by \
flights (`lubberline fly --believe ID`), the ghosts on the bench and the questions.

A source marked 'from memory' was not looked up again. 'Common practice' means that no source was found. \
For teaching only.

"""
PHYSICAL_HEAD = """\
## Physical
A coefficient or a switch of `Laws` is changed, and the same kernels fly it. The causes in its ledger add up \
too: the column `believed_deg` holds the part of the error that has no cause in reality.

"""
CAUSAL_HEAD = """\
## Causal
A relation between a fault and its symptoms is changed. The student expects the symptoms of another fault, \
of a gauge connected elsewhere, or of another power. `symptoms.believed_sight` runs these ideas.

"""
VERBAL_HEAD = """\
## Verbal
One term is mistaken for another. `quantities.measured` calculates both along a flight.

"""
STRUCTURAL_HEAD = """\
## Structural
What runs on what is changed: a field of `SupplyLaws`. `supply.running` and `supply.venturi_inhg` run these \
ideas.

"""
TERMS_HEAD = """\
## Terms
What each term means here.

| term | meaning |
|---|---|
"""


def _law(idea: Physical | Structural) -> str:
    return ", ".join(f"`{name}` {value:.4g}" for name, value in idea.change.items())


def _rule(rule: Rule) -> str:
    fields = ", ".join(f"`{name}`" for name in rule.fields)
    faults = ", ".join(f"`{name}`" if name else "none" for name in rule.faults) or "any or none"
    taken = []
    if rule.as_fault is not None:
        taken.append(f"as with `{rule.as_fault}`" if rule.as_fault else "as when healthy")
    if rule.as_field is not None:
        taken.append(f"as `{rule.as_field}`")
    if rule.as_tap is not None:
        taken.append("gauge at the manifold" if rule.as_tap == "cabin" else "gauge across the instruments")
    if rule.factor != 1.0:
        taken.append(f"times {rule.factor:g}")
    if rule.by_gauge is not None:
        taken.append(f"times `{rule.by_gauge}` divided by its healthy value")
    where = " where the gauge is in the green" if rule.in_the_green else ""
    return f"fault {faults}{where}: {fields} {', '.join(taken)}"


def _causal(idea: Causal) -> str:
    return "; ".join(_rule(rule) for rule in idea.rules)


def _verbal(idea: Verbal) -> str:
    return f"'{QUANTITIES[idea.term].term}' is taken for {QUANTITIES[idea.taken_for].term}"


def _entry(idea: Misconception, wrong: str) -> str:
    lines = [
        f"### `{idea.id}`",
        f'"{idea.statement}"',
        "",
        idea.mend,
        "",
        f"- Replaces the law of: {LAW_BY_ID[idea.law].title} (`{idea.law}`).",
        f"- Wrong model: {wrong}.",
        f"- Source of the fact: {idea.source}.",
    ]
    if idea.scene:
        lines.append(f"- Scene: `{idea.scene}`.")
    return "\n".join(lines) + "\n\n"


def page() -> str:
    """The page as Markdown."""
    parts = [
        HEAD.format(
            count=len(ALL),
            flown=len(FLOWN),
            causal=len(CAUSAL),
            verbal=len(VERBAL),
            structural=len(STRUCTURAL),
        )
    ]
    parts += [PHYSICAL_HEAD, *(_entry(idea, _law(idea)) for idea in FLOWN)]
    parts += [CAUSAL_HEAD, *(_entry(idea, _causal(idea)) for idea in CAUSAL)]
    parts += [VERBAL_HEAD, *(_entry(idea, _verbal(idea)) for idea in VERBAL)]
    parts += [STRUCTURAL_HEAD, *(_entry(idea, _law(idea)) for idea in STRUCTURAL)]
    parts += [TERMS_HEAD, *(f"| {each.term} | {each.definition} |\n" for each in QUANTITIES.values())]
    return "".join(parts)


def main() -> None:
    """Write the page."""
    DOCUMENT.write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
