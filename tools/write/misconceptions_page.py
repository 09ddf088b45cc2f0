"""Write `docs/methods/misconceptions.md` anew from the table of wrong ideas.

    python tools/write/misconceptions_page.py

A test asserts that the page is what this gives.
"""

from pathlib import Path

from lubberline.simulation.misconceptions import CAUSAL, FLOWN, LAW_BY_ID, QUANTITIES, VERBAL
from lubberline.simulation.misconceptions.idea import Causal, Misconception, Physical, Rule, Verbal

DOCUMENT = Path(__file__).parents[2] / "docs" / "methods" / "misconceptions.md"

HEAD = """\
# Wrong ideas

A wrong idea is a wrong model that runs. \
There are {count}: {flown} physical, {causal} causal, {verbal} verbal. \
This page is written by `tools/write/misconceptions_page.py` from `simulation/misconceptions`, the one table \
that flights (`lubberline fly --believe ID`), the bench's ghosts and the questions use.

Where a source is given as from memory, its wording and place were not looked up again; where it is common \
practice, no source was found. For teaching only.

"""
PHYSICAL_HEAD = """\
## Physical
A coefficient or a switch of `Laws` is changed, and the same kernels fly it. Its ledger closes too; what has \
no cause in the truth stands in its column `believed_deg`.

"""
CAUSAL_HEAD = """\
## Causal
A relation between a fault and what is seen of it is changed: what is expected is what is really seen of \
another fault, or with the gauge tapped elsewhere, or at another power. \
`symptoms.believed_sight` runs them.

"""
VERBAL_HEAD = """\
## Verbal
A term is given another's quantity. `quantities.measured` gives both along a flight.

"""
TERMS_HEAD = """\
## Terms
What each term stands for here.

| term | is |
|---|---|
"""


def _law(idea: Physical) -> str:
    return ", ".join(f"`{name}` {value:.4g}" for name, value in idea.change.items())


def _rule(rule: Rule) -> str:
    fields = ", ".join(f"`{name}`" for name in rule.fields)
    faults = ", ".join(f"`{name}`" if name else "none" for name in rule.faults) or "any, or none"
    taken = []
    if rule.as_fault is not None:
        taken.append(f"as with `{rule.as_fault}`" if rule.as_fault else "as in health")
    if rule.as_field is not None:
        taken.append(f"as `{rule.as_field}`")
    if rule.as_tap is not None:
        taken.append("tapped at the manifold" if rule.as_tap == "cabin" else "tapped across the instruments")
    if rule.factor != 1.0:
        taken.append(f"times {rule.factor:g}")
    if rule.by_gauge is not None:
        taken.append(f"times `{rule.by_gauge}` over that in health")
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
        f"- Stands in place of: {LAW_BY_ID[idea.law].title} (`{idea.law}`).",
        f"- Wrong model: {wrong}.",
        f"- Right fact: {idea.source}.",
    ]
    if idea.scene:
        lines.append(f"- Scene: `{idea.scene}`.")
    return "\n".join(lines) + "\n\n"


def page() -> str:
    """The page as Markdown."""
    parts = [
        HEAD.format(
            count=len(FLOWN) + len(CAUSAL) + len(VERBAL),
            flown=len(FLOWN),
            causal=len(CAUSAL),
            verbal=len(VERBAL),
        )
    ]
    parts += [PHYSICAL_HEAD, *(_entry(idea, _law(idea)) for idea in FLOWN)]
    parts += [CAUSAL_HEAD, *(_entry(idea, _causal(idea)) for idea in CAUSAL)]
    parts += [VERBAL_HEAD, *(_entry(idea, _verbal(idea)) for idea in VERBAL)]
    parts += [TERMS_HEAD, *(f"| {each.term} | {each.definition} |\n" for each in QUANTITIES.values())]
    return "".join(parts)


def main() -> None:
    """Write the page."""
    DOCUMENT.write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
