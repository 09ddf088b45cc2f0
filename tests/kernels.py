"""Compiles the kernels that the tests use, and the tests themselves: `python -m tests.kernels`.

Processes that begin with nothing compiled would each compile everything. Whoever starts them has this run
before; a test of a command, of the page, or of another process then finds all of it in the cache.
"""

import io
import subprocess
import sys
from contextlib import redirect_stdout
from pathlib import Path
from tempfile import TemporaryDirectory

from lubberline.cli import main
from lubberline.simulation.bench import Bench
from lubberline.simulation.live.orders import order_of
from lubberline.simulation.scenes import scene_named

DEMO = Path(__file__).parents[1] / "demo"
FLIGHT = str(DEMO / "flights" / "short_circuit.toml")
TRACK = "time_utc,latitude_deg,longitude_deg,altitude_m\n" + "".join(
    f"2026-06-21T09:{k // 60:02d}:{k % 60:02d}Z,{50 + k * 0.0005:.6f},8,1500\n" for k in range(0, 300, 5)
)


def compile_kernels() -> None:
    """Fly by legs and by a track, judge a log, plan, and sit at the bench."""
    with TemporaryDirectory() as temporary, redirect_stdout(io.StringIO()):
        track = Path(temporary) / "track.csv"
        track.write_text(TRACK, encoding="utf-8")
        main(["fly", FLIGHT, "--believe", "no-earth-wander"])
        main(["fly", str(track)])
        oak = ["--aircraft", str(DEMO / "aircraft" / "zz_oak.toml"), "--out", temporary]
        main(["judge", str(DEMO / "logs" / "zz_oak.csv"), *oak])
        main(["plan", FLIGHT, *oak])
    bench = Bench(scene_named("setting_it"))
    bench.give(order_of({"do": "rough", "level": "light"}, "kernels"))
    bench.advance(100)
    bench.frame()


if __name__ == "__main__":
    compile_kernels()
    # In a process of its own: none of these kernels may be used to collect.
    words = [sys.executable, "-m", "pytest", "--collect-only", "-p", "no:cacheprovider"]
    subprocess.run(words, stdout=subprocess.DEVNULL, check=False)
