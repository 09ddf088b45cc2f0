"""Access rules that a checker can tell: WCAG 2.2 A and AA and good practice, by axe-core."""

from pathlib import Path
from typing import Any

AXE = Path(__file__).parents[2] / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# Fewer rules that found something to look at would mean that it looked at no page.
FEWEST_HELD = 8
ASK = """async ([rules, where]) => {
    const found = await axe.run(where ?? document, {
        runOnly: { type: 'tag', values: rules },
        resultTypes: ['violations'],
        preload: false,
        selectors: false,
    });
    const broken = found.violations.map((one) => [one.id, one.nodes.map((node) => node.html.slice(0, 160))]);
    return { broken, held: found.passes.length };
}"""


def broken_rules(page: Any, where: str | None = None) -> list[list[Any]]:
    """Each rule that the page, or what a selector finds in it, breaks: its id and the elements that do.

    Raises:
        AssertionError: almost no rule had anything to look at.
    """
    page.wait_for_load_state()
    if page.evaluate("globalThis.axe === undefined"):
        page.evaluate(AXE.read_text(encoding="utf-8"))
    found: dict[str, Any] = page.evaluate(ASK, [RULES, where])
    assert where is not None or found["held"] + len(found["broken"]) >= FEWEST_HELD
    broken: list[list[Any]] = found["broken"]
    return broken
