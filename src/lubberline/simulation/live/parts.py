"""The parts of the drawn instrument: the one list of ids and names, which the front end imports too."""

from importlib.resources import files
from typing import Final

import msgspec

# Id -> name as people read it. Whatever names a part (a label, a text's link, a camera) uses these ids.
PARTS: Final[dict[str, str]] = msgspec.json.decode(
    files("lubberline.simulation.live").joinpath("parts.json").read_bytes(), type=dict[str, str]
)
