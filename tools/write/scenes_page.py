"""Write `docs/instructors/scenes.md`, the table of scenes, from the scene files.

    python tools/write/scenes_page.py

A test compares the page with the files.
"""

from pathlib import Path

from lubberline.simulation.live.scene import Claim, Scene
from lubberline.simulation.scenes import library

PAGE = Path(__file__).parents[2] / "docs" / "instructors" / "scenes.md"
HEAD = """\
# Scenes: ready demonstrations for the bench

Written by `python tools/write/scenes_page.py` from the files in `src/lubberline/scenes/`; \
`docs/developers/live.md` describes a scene file. Each scene takes half a minute to three minutes. \
The last column lists the claims that the tests check: a number of the bench's frame, the time in the \
scene, and the two values between which it must be.

For teaching only, not for navigation or airworthiness decisions: the aircraft's own handbook, local \
regulations, a licensed maintenance engineer and the instructor in command decide.

| scene | title | what the class should understand | claims |
|---|---|---|---|
"""


def _claim(claim: Claim) -> str:
    return f"`{claim.name}` at {claim.at_s:g} s: {claim.low:g} to {claim.high:g}"


def _row(scene: Scene) -> str:
    entry = scene.entry
    claims = "<br>".join(_claim(claim) for claim in entry.claim)
    return f"| `{entry.id}` | {entry.title} | {entry.aim} | {claims} |\n"


def page() -> str:
    """The page as Markdown."""
    return HEAD + "".join(_row(scene) for scene in library().values())


def main() -> None:
    PAGE.write_text(page(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
