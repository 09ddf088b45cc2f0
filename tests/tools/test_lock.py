"""The locks: hash-checked, complete, free of host names, and counted for every system."""

import json
import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]
LOCKS = {name: ROOT / "tools" / "locks" / f"{name}.txt" for name in ("run", "test", "build", "node")}
SYSTEMS = ("linux-x86_64", "linux-aarch64", "macos-arm64", "windows-amd64")
PYTHONS = ("3.11", "3.12", "3.13", "3.14")
SHA256 = re.compile(r"--hash=sha256:[0-9a-f]{64}$")


def pinned(name: str) -> dict[str, list[Requirement]]:
    """Pins by package, each with its hashes checked for form."""
    pins: dict[str, list[Requirement]] = {}
    for entry in LOCKS[name].read_text(encoding="utf-8").replace("\\\n", " ").splitlines():
        if not entry or entry.startswith("#"):
            continue
        requirement, *hashes = re.split(r"\s+(?=--hash)", entry.strip())
        assert hashes
        assert all(SHA256.match(one) for one in hashes), entry[:60]
        pin = Requirement(requirement)
        pins.setdefault(canonicalize_name(pin.name), []).append(pin)
    return pins


@pytest.mark.parametrize("name", LOCKS)
def test_every_line_is_one_version_with_hashes_and_no_host(name: str) -> None:
    pins = pinned(name)
    assert pins
    for versions in pins.values():
        assert all(str(pin.specifier).startswith("==") for pin in versions)
        assert len(versions) == 1 or all(pin.marker for pin in versions)
    text = LOCKS[name].read_text(encoding="utf-8")
    assert "://" not in text
    assert "index-url" not in text


def test_the_locks_hold_what_pyproject_asks_for() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    groups = project["dependency-groups"]
    asked = {
        "run": project["project"]["dependencies"],
        "test": groups["test"],
        "build": groups["build"],
        "node": groups["node"],
    }
    for name, wanted in asked.items():
        pins = pinned(name)
        for text in wanted:
            requirement = Requirement(text)
            versions = pins.get(canonicalize_name(requirement.name), [])
            assert versions, f"{text} is not in locks/{name}.txt: run tools/write/lock.py"
            for pin in versions:
                assert requirement.specifier.contains(next(iter(pin.specifier)).version), (text, str(pin))


def test_the_test_lock_holds_the_run_lock() -> None:
    run, test = pinned("run"), pinned("test")
    for name, versions in run.items():
        assert {str(pin.specifier) for pin in versions} == {str(pin.specifier) for pin in test[name]}


@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("python", PYTHONS)
def test_every_system_has_a_wheel_of_everything(system: str, python: str) -> None:
    sizes = json.loads((ROOT / "tools" / "locks" / "sizes.json").read_text(encoding="utf-8"))
    assert sizes[system]["npm"] > 1_000_000
    for part, entry in sizes[system][python].items():
        assert entry["missing"] == [], part
        assert entry["bytes"] > 1_000


def test_npm_lock_holds_checksums_and_no_addresses() -> None:
    lock = json.loads((ROOT / "frontend" / "package-lock.json").read_text(encoding="utf-8"))
    packages = {name: entry for name, entry in lock["packages"].items() if name}
    assert packages
    assert all(entry["integrity"].startswith("sha512-") for entry in packages.values())
    assert not any("resolved" in entry for entry in packages.values())
