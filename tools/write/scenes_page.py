"""Write `docs/instructors/scenes.md`, the table of scenes, from the scene files.

    python tools/write/scenes_page.py

A test compares the page with the files.
"""

from pathlib import Path

from lubberline.simulation.live.parts import plain_of
from lubberline.simulation.live.scene import Claim, Scene, SceneEntry, StepEntry
from lubberline.simulation.scenes import library

PAGE = Path(__file__).parents[2] / "docs" / "instructors" / "scenes.md"
HEAD = """\
# Scenes: ready demonstrations for the stage and the bench

Written by `python tools/write/scenes_page.py` from the files in `src/lubberline/scenes/`; \
`docs/developers/live.md` describes a scene file. Each scene takes half a minute to three minutes. \
The last column lists the claims that the tests check: a number of the bench's frame, the time in the \
scene, and the two values between which it must be. Scenes of your own: [own.md](own.md).

For teaching only, not for navigation or airworthiness decisions: the aircraft's own handbook, local \
regulations, a licensed maintenance engineer and the instructor in command decide.

| scene | title | what the class should understand | claims |
|---|---|---|---|
"""


TOUR = """
## {title} (`{id}`)

{aim} On the stage, `/stage?scene={id}`: **Next** and **Back**, or the keys `n` and `Backspace`; `&step=3` \
opens its third step. Each step is flown from a start of its own: what was tried before does not disturb it.

| step | what is said | what to try | claims |
|---|---|---|---|
"""


def _claim(claim: Claim) -> str:
    return f"`{claim.name}` at {claim.at_s:g} s: {claim.low:g} to {claim.high:g}"


def _claims(entry: SceneEntry | StepEntry) -> str:
    return "<br>".join(_claim(claim) for claim in entry.claim)


def _row(scene: Scene) -> str:
    entry = scene.entry
    return f"| `{entry.id}` | {entry.title} | {entry.aim} | {_claims(entry)} |\n"


def _tour(scene: Scene) -> str:
    rows = [
        f"| {number}. {step.entry.title} | {plain_of(step.entry.say)} | {plain_of(step.entry.attempt)} "
        f"| {_claims(step.entry)} |\n"
        for number, step in enumerate(scene.steps, start=1)
    ]
    words = {"id": scene.entry.id, "title": scene.entry.title, "aim": scene.entry.aim}
    return TOUR.format(**words) + "".join(rows)


def page() -> str:
    """The page as Markdown: the scenes, then the tours step by step."""
    scenes = library().values()
    tours = [_tour(scene) for scene in scenes if scene.steps]
    return HEAD + "".join(_row(scene) for scene in scenes if not scene.steps) + "".join(tours)


def main() -> None:
    PAGE.write_text(page(), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
