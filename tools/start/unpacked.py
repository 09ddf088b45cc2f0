"""`start.py unpack-check ZIP`: unpacks a pack and checks that it installs, flies and serves offline.

On Linux as root it runs in a separate network with only loopback; elsewhere with proxies that lead
nowhere. Its PATH has no Node, npm or git.
"""

from __future__ import annotations

import os
import queue
import shutil
import signal
import socket
import struct
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
import zipfile
from pathlib import Path

from tools.start.console import Stop, say

DEAD_PROXY = "http://127.0.0.1:9"
LIMIT_S = 300.0
FAR_AWAY = ("192.0.2.1", 443)  # an address reserved for documentation (RFC 5737)
SIOCSIFFLAGS, IFF_UP, IFF_RUNNING = 0x8914, 0x1, 0x40


def check(pack: Path) -> None:
    """Unpack and check a pack.

    Raises:
        Stop: when anything in it does not work without a network.
    """
    with tempfile.TemporaryDirectory() as scratch:
        with zipfile.ZipFile(pack) as archive:
            archive.extractall(scratch)
        folder = next(Path(scratch).iterdir())
        cut_off = _cut_off_command()
        say(
            "The network is cut off: only loopback is left."
            if cut_off
            else "The network cannot be cut off here: pip uses no index, and the proxies lead nowhere."
        )
        command = [
            *cut_off,
            sys.executable,
            "-m",
            "tools.start.unpacked",
            str(folder),
            "cut-off" if cut_off else "proxies",
        ]
        here = Path(__file__).resolve().parents[2]
        if subprocess.run(command, cwd=here, env=_environment(folder), check=False).returncode:
            raise Stop(f"The pack {pack} does not work offline; the lines above say why.")
    say(f"The pack works offline: {pack}")


def _cut_off_command() -> list[str]:
    """The command that gives a program a network of nothing but loopback, where that is permitted."""
    unshare = shutil.which("unshare")
    if (
        unshare is None
        or subprocess.run([unshare, "-n", "true"], check=False, capture_output=True).returncode
    ):
        return []
    return [unshare, "-n"]


def _environment(folder: Path) -> dict[str, str]:
    """This environment without package settings, and with a PATH that leads to no Node and no git."""
    kept = {
        name: value
        for name, value in os.environ.items()
        if not name.upper().startswith(("PIP_", "NPM_", "PYTHON", "NODE_", "VIRTUAL_ENV"))
    }
    dead = dict.fromkeys(("HTTP_PROXY", "HTTPS_PROXY", "http_proxy", "https_proxy"), DEAD_PROXY)
    nowhere = {"PATH": str(folder / "no-programs"), "LUBBERLINE_CACHE": str(folder / "cache")}
    # Its page is its own, whatever runs on the records of whoever tries it.
    nowhere["LUBBERLINE_DATABASE"] = "memory"
    if os.name == "nt":
        nowhere["PATH"] = str(Path(os.environ["SYSTEMROOT"], "System32"))
    return {**kept, **dead, **nowhere}


def _raise_loopback() -> None:
    """Bring up the loopback interface of a fresh network namespace."""
    import fcntl

    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as control:
        fcntl.ioctl(control, SIOCSIFFLAGS, struct.pack("16sh14x", b"lo", IFF_UP | IFF_RUNNING))


def _assert_offline() -> None:
    try:
        socket.create_connection(FAR_AWAY, timeout=2).close()
    except OSError:
        return
    raise Stop("The network is still there; this check would prove nothing.")


def _start_and_watch(folder: Path) -> None:
    """Run start.py as a person does, wait for its address, fetch the page, end it with Ctrl-C."""
    process = subprocess.Popen(
        [sys.executable, "start.py", "--no-open"],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        encoding="utf-8",
    )
    lines: queue.Queue[str | None] = queue.Queue()
    threading.Thread(target=_pump, args=(process, lines), daemon=True).start()
    try:
        address = _wait_for_address(lines)
        opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
        with opener.open(address, timeout=10) as answer:
            if b"<html" not in answer.read().lower():
                raise Stop(f"{address} answered with something that is no page.")
        process.send_signal(signal.SIGTERM if sys.platform == "win32" else signal.SIGINT)
        code = process.wait(30)
        # Windows ends a process outright and has no Ctrl-C for one child alone.
        if code and sys.platform != "win32":
            raise Stop(f"Ctrl-C ended start.py with exit code {code}, not 0.")
    finally:
        if process.poll() is None:
            process.terminate()  # asked to end, start.py ends its page too
            process.wait(30)


def _pump(process: subprocess.Popen[str], lines: queue.Queue[str | None]) -> None:
    for line in process.stdout or ():
        lines.put(line.rstrip())
    lines.put(None)


def _wait_for_address(lines: queue.Queue[str | None]) -> str:
    limit = time.monotonic() + LIMIT_S
    while True:
        try:
            line = lines.get(timeout=max(limit - time.monotonic(), 0.1))
        except queue.Empty:
            raise Stop(f"start.py gave no address within {LIMIT_S:.0f} s.") from None
        if line is None:
            raise Stop("start.py ended before it gave an address.")
        say(f"  | {line}")
        if "The page is at " in line:
            return line.split("The page is at ")[1].split()[0]


def _assert_flown(folder: Path) -> None:
    log = (folder / ".lubberline" / "start.log").read_text(encoding="utf-8")
    if "Looking in indexes" in log or "Downloading" in log:
        raise Stop("pip looked beyond the pack's own wheels.")
    if not (folder / "out" / "demo" / "summary.json").is_file():
        raise Stop("The demo flight left no summary.json.")


def _inside(folder: Path, *, cut_off: bool) -> None:
    if cut_off:
        _raise_loopback()
        _assert_offline()
    _start_and_watch(folder)
    _assert_flown(folder)


if __name__ == "__main__":
    try:
        _inside(Path(sys.argv[1]), cut_off=sys.argv[2] == "cut-off")
    except Stop as stop:
        sys.exit(str(stop))
