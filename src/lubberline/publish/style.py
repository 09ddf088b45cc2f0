"""How the figure's lines and letters look, on paper and on a dark screen."""

from __future__ import annotations

# Ink on paper first; a dark screen changes it, a printer never does.
LIGHT = {
    "paper": "#ffffff",
    "text": "#1c2126",
    "muted": "#565d64",
    "grid": "#e3e6e8",
    "frame": "#8b9298",
    "line": "#1c2126",
    "reference": "#c8a06a",
    "limit": "#a3392e",
    "alarm": "#a3392e",
}
DARK = {
    "paper": "#14181c",
    "text": "#eceff1",
    "muted": "#a9b2b9",
    "grid": "#2b3238",
    "frame": "#6f7982",
    "line": "#f2f4f5",
    "reference": "#8a6a3c",
    "limit": "#ff9d8f",
    "alarm": "#ff9d8f",
}


def _rules(scope: str, inks: dict[str, str]) -> str:
    rules = {
        ".paper": "fill:{paper}",
        ".t,.b": "fill:{text}",
        ".m": "fill:{muted}",
        ".halo": "stroke:{paper}",
        ".grid": "stroke:{grid}",
        ".zero,.axis": "stroke:{frame}",
        ".frame": "stroke:{frame}",
        ".ink,.thin,.indicated,.total,.track": "stroke:{line}",
        ".casing": "stroke:{paper}",
        ".reference": "stroke:{reference}",
        ".limit": "stroke:{limit}",
        ".setline": "stroke:{muted}",
        ".alarmline": "stroke:{alarm}",
        ".mark": "fill:{line}",
        ".totalbar": "fill:{line}",
        ".dot": "fill:{line};stroke:{paper}",
        ".open": "fill:{paper};stroke:{line}",
        ".alarm": "fill:{alarm}",
        ".swatch": "stroke:{frame}",
    }
    lines = []
    for selectors, body in rules.items():
        scoped = ",".join(f"{scope} {selector}" for selector in selectors.split(","))
        lines.append(f"{scoped}{{{body.format(**inks)}}}")
    return "\n".join(lines)


SHAPES = """
{s} .grid,{s} .zero,{s} .axis,{s} .ink,{s} .thin,{s} .indicated,{s} .reference{{fill:none}}
{s} .total,{s} .casing,{s} .track,{s} .limit,{s} .setline,{s} .alarmline{{fill:none}}
{s} .b{{font-weight:600}}
{s} .halo{{stroke-width:3.5px;paint-order:stroke;stroke-linejoin:round}}
{s} .name{{fill:#15181b;stroke-width:3px;paint-order:stroke;stroke-linejoin:round}}
{s} .grid,{s} .frame,{s} .swatch{{stroke-width:1px}}
{s} .frame{{fill:none}}
{s} .zero,{s} .axis{{stroke-width:1.2px}}
{s} .ink,{s} .thin{{stroke-width:1.5px}}
{s} .track,{s} .indicated{{stroke-width:1.8px}}
{s} .total{{stroke-width:2.6px;stroke-linejoin:round;stroke-linecap:round}}
{s} .casing{{stroke-width:5.5px;stroke-linejoin:round;stroke-linecap:round}}
{s} .reference{{stroke-width:5px;stroke-linejoin:round}}
{s} .limit{{stroke-width:1.4px;stroke-dasharray:7 4}}
{s} .setline{{stroke-width:1px;stroke-dasharray:2 3}}
{s} .alarmline{{stroke-width:1.2px}}
{s} .open{{stroke-width:2px}}
{s} .dot{{stroke-width:1.5px}}
{s} .band,{s} .bar{{stroke-width:.6px}}
"""


def style_element(prefix: str, *, dark: bool) -> str:
    """A `<style>` element that reaches no further than the element with id `prefix`."""
    scope = f"#{prefix}"
    text = SHAPES.format(s=scope) + _rules(scope, LIGHT)
    if dark:
        text += "\n@media screen and (prefers-color-scheme:dark){\n" + _rules(scope, DARK) + "\n}"
    return f"<style>{text}</style>"
