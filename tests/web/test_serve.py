"""The server as a process: its port, its address, its end."""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys

import pytest

from lubberline.errors import InputError
from lubberline.web import serve as serving
from lubberline.web.serve import ADDRESS, free_socket


def test_a_taken_port_means_the_next_free_one():
    first = free_socket(0)
    port = first.getsockname()[1]
    second = free_socket(port)
    try:
        assert second.getsockname()[0] == ADDRESS == "127.0.0.1"
        assert second.getsockname()[1] > port
    finally:
        first.close()
        second.close()


def test_no_free_port_says_so(monkeypatch):
    monkeypatch.setattr(serving, "PORTS_TRIED", 1)
    taken = free_socket(0)
    try:
        with pytest.raises(InputError, match="--port"):
            free_socket(taken.getsockname()[1])
    finally:
        taken.close()


@pytest.mark.skipif(sys.platform == "win32", reason="Ctrl-C cannot be sent to one process there")
def test_it_prints_its_address_serves_and_ends_on_ctrl_c():
    with subprocess.Popen(
        [sys.executable, "-m", "lubberline", "open", "--no-open", "--port", "0"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=os.environ,
    ) as process:
        try:
            address = process.stdout.readline().split()[3]
            found = re.fullmatch(r"http://127\.0\.0\.1:(\d+)/", address)
            assert found
            # Straight to it, past any proxy of the environment.
            straight = http.client.HTTPConnection(ADDRESS, int(found[1]), timeout=30)
            straight.request("GET", "/static/nothing.js")
            assert straight.getresponse().status == 404
            straight.close()
        finally:
            process.send_signal(signal.SIGINT)
        # A flight may be under way, even compiling.
        out, err = process.communicate(timeout=60)
    assert process.returncode == 130
    assert err == ""
    assert out.rstrip().endswith("Ended.")
    with socket.socket() as probe:
        assert probe.connect_ex((ADDRESS, int(found[1]))) != 0
