"""Whether two bench states are the same to the bit, and where not."""

from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np


def differences(first: Any, second: Any, path: str = "state") -> list[str]:
    """Places where two nested states differ; empty when they are the same."""
    if is_dataclass(first):
        names = [field.name for field in fields(first)]
        pairs = [(f"{path}.{n}", getattr(first, n), getattr(second, n)) for n in names]
    elif isinstance(first, np.ndarray):
        return [] if first.tobytes() == second.tobytes() else [path]
    elif isinstance(first, dict):
        if first.keys() != second.keys():
            return [path]
        pairs = [(f"{path}[{key}]", first[key], second[key]) for key in first]
    elif isinstance(first, tuple | list):
        if len(first) != len(second):
            return [path]
        pairs = [(f"{path}[{i}]", a, b) for i, (a, b) in enumerate(zip(first, second, strict=True))]
    else:
        return [] if first == second or (first != first and second != second) else [path]
    return [place for name, a, b in pairs for place in differences(a, b, name)]
