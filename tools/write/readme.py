"""Write the README's sample of `lubberline fly` from a run of it.

    python tools/write/readme.py

`tests/tools/test_readme.py` flies the same flight and compares.
"""

import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
README = ROOT / "README.md"
GIVEN = ("demo/flights/eastbound_60n.toml", "--aircraft", "demo/aircraft/zz_oak.toml")
BLOCK = re.compile(r"(<!-- flown: .*? -->\n)(.*?)(<!-- /flown -->)", re.DOTALL)


def flown_text() -> str:
    """What the command prints up to its notes, as a block for the README."""
    with tempfile.TemporaryDirectory() as scratch:
        command = [sys.executable, "-m", "lubberline.cli", "fly", *GIVEN, "--out", scratch]
        printed = subprocess.run(command, cwd=ROOT, check=True, capture_output=True, encoding="utf-8").stdout
    told = printed.split("Note:")[0].strip()
    return f"```\n$ lubberline fly {' '.join(GIVEN)} --out out\n{told}\n```\n"


def block(text: str) -> str:
    """The block that stands in the README's text."""
    found = BLOCK.search(text)
    if found is None:
        raise SystemExit("README.md has no block between <!-- flown: --> and <!-- /flown -->")
    return found[2]


def main() -> None:
    text = README.read_text(encoding="utf-8")
    block(text)
    README.write_text(BLOCK.sub(lambda m: m[1] + flown_text() + m[3], text), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
