"""The pages are built when their sources changed, and only then."""

import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from tools.start import pages


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """A small source tree whose pages are built and current."""
    (tmp_path / "frontend" / "src").mkdir(parents=True)
    (tmp_path / "frontend" / "src" / "main.ts").write_text("one")
    (tmp_path / "frontend" / "package-lock.json").write_text("{}")
    built = tmp_path / pages.BUILT
    built.mkdir(parents=True)
    (built / pages.ENTRY).write_text("built")
    (built / pages.DIGEST_NAME).write_text(pages.digest(tmp_path / "frontend"))
    return tmp_path


def test_current_pages_are_left_alone(tree: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pages, "find_node", lambda: pytest.fail("Node was looked for"))
    assert pages.build(tree) is False


def test_any_change_of_a_source_is_noticed_and_packages_are_none(tree: Path) -> None:
    modules = tree / "frontend" / "node_modules"
    modules.mkdir()
    (modules / "thing.js").write_text("x")
    assert pages.is_current(tree)
    (tree / "frontend" / "src" / "main.ts").write_text("two")
    assert not pages.is_current(tree)
    (tree / "frontend" / "src" / "main.ts").write_text("one")
    assert pages.is_current(tree)
    (tree / "frontend" / "src" / "main.ts").rename(tree / "frontend" / "src" / "moved.ts")
    assert not pages.is_current(tree)


def test_pages_without_their_digest_or_script_are_not_current(tree: Path) -> None:
    (tree / pages.BUILT / pages.DIGEST_NAME).unlink()
    assert not pages.is_current(tree)
    (tree / pages.BUILT / pages.DIGEST_NAME).write_text(pages.digest(tree / "frontend"))
    (tree / pages.BUILT / pages.ENTRY).unlink()
    assert not pages.is_current(tree)


# What Vite 8 asks for: ^20.19 or >=22.12 (its package.json, "engines").
@pytest.mark.parametrize(
    ("version", "does"),
    [
        ("v18.19.0", False),
        ("v20.18.1", False),
        ("v20.19.0", True),
        ("v21.7.3", False),
        ("v22.11.0", False),
        ("v22.12.0", True),
        ("v24.19.0", True),
        ("nonsense", False),
    ],
)
def test_an_old_node_is_not_used(version: str, does: bool) -> None:
    assert pages.is_new_enough(version) is does


def test_node_in_the_wheel_is_found_as_laid_out_on_windows_and_elsewhere(tmp_path: Path) -> None:
    for system, node, npm in (
        ("nt", "node.exe", "node_modules/npm/bin/npm-cli.js"),
        ("posix", "bin/node", "lib/node_modules/npm/bin/npm-cli.js"),
    ):
        package = tmp_path / system
        assert pages.node_in(package, system) is None
        for name in (node, npm):
            (package / name).parent.mkdir(parents=True, exist_ok=True)
            (package / name).touch()
        found = pages.node_in(package, system)
        assert found == pages.Node(package / node, (str(package / node), str(package / npm)))


def test_a_strange_certificate_gets_its_hint(tree: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """npm's own error text, as it prints it behind a proxy with its own certificate."""
    (tree / "frontend" / "src" / "main.ts").write_text("two")
    said = "npm error code SELF_SIGNED_CERT_IN_CHAIN"
    command = (sys.executable, "-c", f"import sys; print({said!r}); sys.exit(1)")
    monkeypatch.setattr(pages, "find_node", lambda: pages.Node(Path(sys.executable), command))
    with pytest.raises(pages.PagesError, match="NODE_EXTRA_CA_CERTS"):
        pages.build(tree)


def test_the_environment_reaches_npm(tree: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    passed: dict[str, str] = {}

    def kept(
        command: Sequence[str], *, env: dict[str, str], **named: Any
    ) -> subprocess.CompletedProcess[str]:
        passed.update(env)
        return subprocess.CompletedProcess(command, 1, "stopped here")

    monkeypatch.setenv("NODE_EXTRA_CA_CERTS", "the-file.pem")
    monkeypatch.setattr("subprocess.run", kept)
    with pytest.raises(pages.PagesError):
        pages.install_packages(tree, pages.Node(Path("there/node"), ("npm",)))
    assert passed["NODE_EXTRA_CA_CERTS"] == "the-file.pem"


def test_a_tree_without_front_end_is_said_so(tree: Path) -> None:
    shutil.rmtree(tree / "frontend")
    (tree / "frontend").mkdir()
    with pytest.raises(pages.PagesError, match=r"package-lock\.json is missing"):
        pages.build(tree)
