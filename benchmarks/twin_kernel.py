"""The C twin of the heading indicator's kernel: `gcc -O2`, called on the engine's own arrays."""

import ctypes
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lubberline.flight.motion import SAMPLE, STEP_S
from lubberline.instruments.heading_indicator.card import HEADING_ROW
from lubberline.instruments.heading_indicator.gyro import Gyro, GyroLaws, GyroState
from lubberline.instruments.suction.drive import DRIVE_SAMPLE

SOURCE = Path(__file__).parent / "twin" / "heading_indicator.c"
FLAGS = ("-O2", "-std=c11", "-D_DEFAULT_SOURCE", "-Wall", "-Wextra", "-Werror", "-shared", "-fPIC")


def _names(record: Any, before: str = "") -> tuple[str, ...]:
    """The fields of a record, those of records in it by their path."""
    names: list[str] = []
    for name, value in zip(record._fields, record, strict=True):
        names += _names(value, f"{name}_") if isinstance(value, tuple) else [f"{before}{name}"]
    return tuple(names)


def numbers(record: Any) -> list[float]:
    """The numbers of a record, those of records in it in their places."""
    return [n for value in record for n in (numbers(value) if isinstance(value, tuple) else [float(value)])]


def filled(record: Any, values: list[float]) -> Any:
    """A record of the same shape from the numbers, which are used up."""
    parts = [filled(value, values) if isinstance(value, tuple) else values.pop(0) for value in record]
    return type(record)(*parts)


RECORDS: dict[str, tuple[str, ...]] = {
    "Sample": SAMPLE.names or (),
    "DriveSample": DRIVE_SAMPLE.names or (),
    "HeadingRow": HEADING_ROW.names or (),
    "Gyro": Gyro._fields,
    "GyroState": _names(GyroState(0.0, 0.0, 0.0, 0.0)),
    "Laws": GyroLaws._fields,
}


def compiler() -> str:
    """The compiler's name and version."""
    said = subprocess.run(["gcc", "--version"], capture_output=True, text=True, check=True)
    return said.stdout.splitlines()[0]


def build(folder: Path) -> ctypes.CDLL:
    """Compile the twin into a folder, with the layout of the engine's records, and load it."""
    structs = [
        "typedef struct {\n" + "".join(f"    double {name};\n" for name in fields) + f"}} {record};\n"
        for record, fields in RECORDS.items()
    ]
    (folder / "layout.h").write_text("\n".join(structs), encoding="utf-8")
    library = folder / "twin.so"
    subprocess.run(["gcc", *FLAGS, f"-I{folder}", str(SOURCE), "-o", str(library), "-lm"], check=True)
    twin = ctypes.CDLL(str(library))
    twin.fly_heading.restype = ctypes.c_int64
    for name, record in (("sample", SAMPLE), ("drive", DRIVE_SAMPLE), ("row", HEADING_ROW)):
        size = getattr(twin, f"{name}_bytes")
        size.restype = ctypes.c_int64
        if size() != record.itemsize:
            raise RuntimeError(f"the twin's {name} record has {size()} bytes, the engine's {record.itemsize}")
    return twin


def fly_twin(
    twin: ctypes.CDLL,
    state: GyroState,
    samples: NDArray[np.void],
    drive: NDArray[np.void],
    wander_nm: NDArray[np.float64],
    variation_rad: NDArray[np.float64],
    row_every: int,
    gyro: Gyro,
    laws: GyroLaws,
    rows: NDArray[np.void],
) -> GyroState:
    """As the engine's `fly_heading` without actions; refuses flights at the stops or with a slow rotor."""

    def at(array: NDArray[Any]) -> ctypes.c_void_p:
        return ctypes.c_void_p(array.ctypes.data)

    held = np.array(numbers(state), dtype=np.float64)
    parameters, laws_held = np.array(gyro, dtype=np.float64), np.array(laws, dtype=np.float64)
    stopped = twin.fly_heading(
        at(held),
        at(samples),
        at(drive),
        at(wander_nm),
        at(variation_rad),
        ctypes.c_int64(len(samples)),
        ctypes.c_double(STEP_S),
        ctypes.c_int64(row_every),
        at(parameters),
        at(laws_held),
        at(rows),
    )
    if stopped >= 0:
        raise RuntimeError(f"sample {stopped} needs the rigid body, which the twin does not have")
    after: GyroState = filled(state, held.tolist())
    return after
