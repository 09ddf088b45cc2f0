"""The built wheel gives a `lubberline` that works without Node and without a network."""

import json
import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

from tools.start import paths

ROOT = Path(__file__).resolve().parents[2]
DEAD_PROXY = "http://127.0.0.1:9"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "pip", "wheel", "--no-deps", "--no-build-isolation", "--wheel-dir"]
    done = subprocess.run(
        [*build, str(folder), str(ROOT)], capture_output=True, encoding="utf-8", check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return next(folder.glob("lubberline-*.whl"))


def test_wheel_carries_pages_and_demo_and_nothing_to_build_them(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    assert {"lubberline/web/static/base.css", "lubberline/web/static/built-from.txt"} <= names
    # Every library that the pages bundle, with its licence.
    bundled = json.loads((ROOT / "frontend" / "package.json").read_text(encoding="utf-8"))["dependencies"]
    notices = zipfile.ZipFile(wheel).read("lubberline/web/static/notices.md").decode("utf-8")
    assert all(f"## {name} - {version} (" in notices for name, version in bundled.items())
    demo = {f"lubberline/{path.relative_to(ROOT).as_posix()}" for path in (ROOT / "demo").rglob("*.toml")}
    assert demo
    assert demo <= names
    assert not [
        name for name in names if "node_modules" in name or name.startswith(("tools", "frontend", "tests"))
    ]


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A new environment with the wheel; the dependencies are this environment's."""
    folder = tmp_path_factory.mktemp("installed")
    venv.create(folder, with_pip=False)
    purelib = Path(sysconfig.get_path("purelib", vars={"base": str(folder), "platbase": str(folder)}))
    (purelib / "dependencies.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    install = [sys.executable, "-m", "pip", "--python", str(folder), "install", "--no-index", "--no-deps"]
    # Isolated by flag too: this environment's own editable Lubberline must not count as installed.
    subprocess.run([*install, "--ignore-installed", str(wheel)], check=True, capture_output=True)
    return folder


# `.ci/run` proves the same of the pack, each time.
@pytest.mark.acceptance
def test_installed_command_flies_the_demo_with_no_node_and_no_network(
    installed: Path, tmp_path: Path
) -> None:
    environment = {
        "PATH": str(paths.venv_folder(installed)),
        "HOME": str(tmp_path),
        "HTTP_PROXY": DEAD_PROXY,
        "HTTPS_PROXY": DEAD_PROXY,
        **{name: os.environ[name] for name in ("SYSTEMROOT", "LUBBERLINE_CACHE") if name in os.environ},
    }
    asked = "import lubberline, pathlib; print(pathlib.Path(lubberline.__file__).parent)"
    python = paths.venv_program("python", installed)
    told = subprocess.run(
        [python, "-c", asked], env=environment, capture_output=True, encoding="utf-8", check=True
    )
    package = Path(told.stdout.strip())
    assert installed in package.parents
    out = tmp_path / "out"
    flight, aircraft = package / "demo/flights/short_circuit.toml", package / "demo/aircraft/zz_oak.toml"
    program = str(paths.venv_program("lubberline", installed))
    command = [program, "fly", str(flight), "--aircraft", str(aircraft), "--out", str(out)]
    done = subprocess.run(command, env=environment, capture_output=True, encoding="utf-8", check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert json.loads((out / "summary.json").read_text(encoding="utf-8"))["sentence"]
