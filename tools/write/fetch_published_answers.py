"""Fetch answers whose alpha is published: two data sets inside the wheel of the PyPI package `pingouin`.

Its documentation gives their alpha with interval, checked by its authors against the R package psych. Only
the wheel is downloaded and opened as a zip (GPL-3.0: used in tests only, not stored here).

    python -m tools.write.fetch_published_answers         fetch and list
"""

import csv
import io
import zipfile

from tools.write.pinned_wheel import CannotFetch, cache_folder, pinned_wheel

VERSION = "0.7.0"
SHA256 = "6ad8cee3f498d1c15deb74996264961b9bfaf126382847570b090ad5ac1b621f"
SETS = ("cronbach_wide_missing", "cronbach_alpha")

__all__ = ["SETS", "CannotFetch", "published_answers"]


def published_answers(name: str) -> list[dict[str, str]]:
    """The rows of one of `SETS`.

    Raises:
        CannotFetch: not cached, and no way to the package index.
    """
    wheel = pinned_wheel(cache_folder("published_answers"), "pingouin", VERSION, SHA256)
    with zipfile.ZipFile(wheel) as opened:
        text = opened.read(f"pingouin/datasets/{name}.csv").decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text), delimiter=";" if ";" in text.splitlines()[0] else ","))


def main() -> None:
    """Fetch and list."""
    for name in SETS:
        rows = published_answers(name)
        print(f"{name}: {len(rows)} rows, columns {', '.join(rows[0])}")


if __name__ == "__main__":
    main()
