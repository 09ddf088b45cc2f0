"""Write the table of faults in `docs/methods/suction.md` from the model.

    python tools/write/suction_table.py

A test compares the table in the document with the model.
"""

from pathlib import Path

from lubberline.instruments.faults import FAULTS, HEALTHY, with_fault
from lubberline.instruments.suction.airflow import SuctionSystem
from lubberline.instruments.suction.rotor import Rotor
from lubberline.simulation.symptoms import symptoms

DOCUMENT = Path(__file__).parents[2] / "docs" / "methods" / "suction.md"
BEGIN, END = "<!-- table of faults: begin -->\n", "<!-- table of faults: end -->\n"
ENGINE_RPM = (800.0, 1200.0, 1700.0, 2400.0)
AIR_FAULTS = ("pump", "regulator", "filter", "leak", "bearings")

HEAD = """\
| | gauge against cabin, inHg, at 800 / 1,200 / 1,700 / 2,400 rpm \
| across the instruments, inHg, at the same rpm \
| rotor rpm at 800 / 2,400 | spin-up to 90 % at 2,400, min | spin-down from 800 / 2,400, min \
| drift at 800 / 2,400, deg/15 min |
|---|---|---|---|---|---|---|
"""


def _row(label: str, fault: str) -> str:
    faults = with_fault(HEALTHY, fault) if fault else HEALTHY
    shown = [symptoms(rpm, 0.0, SuctionSystem(), Rotor(), faults) for rpm in ENGINE_RPM]
    idle, cruise = shown[0], shown[-1]
    cells = (
        label,
        " / ".join(f"{each.cabin_gauge_inhg:.1f}" for each in shown),
        " / ".join(f"{each.instrument_gauge_inhg:.1f}" for each in shown),
        f"{round(idle.rotor_rpm, -2):,.0f} / {round(cruise.rotor_rpm, -2):,.0f}",
        f"{cruise.spin_up_min:.1f}",
        f"{idle.run_down_min:.0f} / {cruise.run_down_min:.0f}",
        f"{idle.limit_drift_deg_15min:.1f} / {cruise.limit_drift_deg_15min:.1f}",
    )
    return "| " + " | ".join(cells) + " |\n"


def table() -> str:
    """The table as Markdown."""
    rows = [_row("healthy", "")]
    for name in AIR_FAULTS:
        fault = FAULTS[name]
        unit = f" {fault.unit}" if fault.unit else ""
        rows.append(_row(f"`{name}` {fault.default_size:g}{unit}", name))
    return HEAD + "".join(rows)


def main() -> None:
    """Write the table between its two marks."""
    text = DOCUMENT.read_text(encoding="utf-8")
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    DOCUMENT.write_text(before + BEGIN + table() + END + after, encoding="utf-8")


if __name__ == "__main__":
    main()
