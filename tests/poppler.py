"""What poppler's tools, an independent reader, find in a PDF."""

import os
import shutil
import subprocess
from pathlib import Path

import pytest


def poppler(tool: str, pdf: bytes, tmp_path: Path, *options: str) -> str:
    """The words of `pdfinfo`, `pdftotext` or `pdffonts`; skipped plainly without them, but not in CI."""
    if shutil.which(tool) is None:
        if os.environ.get("CI"):
            pytest.fail(f"{tool} (poppler) must be there in CI")
        pytest.skip(f"{tool} (poppler) is not installed")
    path = tmp_path / "looked_at.pdf"
    path.write_bytes(pdf)
    output = ["-"] if tool == "pdftotext" else []
    done = subprocess.run([tool, *options, path, *output], capture_output=True, check=True, text=True)
    return done.stdout
