"""Which side of the school a request is for, and how it came.

The students' side is `/join`, `/class/...`, `/sit/...`, `/log/...` (the form of one aircraft's log) and
`/static/...`; everything else is the instructor's. The instructor's side opens on this machine, or through
the school's own HTTPS proxy to somebody who knows the passphrase; the local network sees the students'
side alone.
"""

import contextlib
import ipaddress
import socket
from typing import NamedTuple
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.requests import HTTPConnection
from starlette.types import Scope

from lubberline.errors import InputError

STUDENTS_ROOTS = ("/join", "/class", "/sit", "/log", "/static")
# Any other name comes from a rebound DNS answer or a proxy.
OWN_NAMES = frozenset({"127.0.0.1", "localhost", "[::1]"})
FORWARDING = ("forwarded", "x-forwarded-for", "x-forwarded-host", "x-forwarded-proto", "x-real-ip", "via")
PORTS = {"http": 80, "https": 443}
_CALLER = "lubberline.caller"


class Door(NamedTuple):
    """How far the school is open.

    Attributes:
        lan: whether the local network may come to the students' side.
        behind: address of the HTTPS proxy before this server, as 'https://school.example'; '' for none.
        names: names of this machine in the local network, in small letters.
    """

    lan: bool = False
    behind: str = ""
    names: frozenset[str] = frozenset()


class Caller(NamedTuple):
    """Where a request comes from.

    Attributes:
        address: of the device, for limits on how often it may try.
        here: on this machine, at its own name, with nothing in between.
        proxied: through the school's HTTPS proxy.
        origin: what a page of ours has as its origin on this way.
    """

    address: str
    here: bool
    proxied: bool
    origin: str


def is_students(path: str) -> bool:
    """Whether a path belongs to the students' side."""
    return any(path == root or path.startswith(f"{root}/") for root in STUDENTS_ROOTS)


def door(lan: bool = False, behind: str = "") -> Door:
    """A door as it was asked for, with the names of this machine.

    Raises:
        InputError: `behind` is not a plain HTTPS address.
    """
    names: frozenset[str] = frozenset()
    if lan:
        own = socket.gethostname().lower()
        names = frozenset({own, own.partition(".")[0], f"{own.partition('.')[0]}.local"})
    return Door(lan, _origin(behind) if behind else "", names)


def _origin(given: str) -> str:
    try:
        found = urlsplit(given)
        port = found.port
    except ValueError:
        found, port = urlsplit(""), None
    plain = not (found.path.strip("/") or found.query or found.fragment or "@" in found.netloc)
    if found.scheme != "https" or not found.hostname or not plain:
        right = "give the proxy's address as in a browser, such as https://school.example"
        raise InputError("--behind", f"'{given[:80]}' is not a plain HTTPS address", right)
    name = f"[{found.hostname}]" if ":" in found.hostname else found.hostname
    return f"https://{name}" + (f":{port}" if port not in (None, PORTS["https"]) else "")


def name_of(host: str) -> str:
    """The name in a Host header, without its port, in small letters."""
    if host.startswith("["):
        return host.partition("]")[0].lower() + "]"
    return host.partition(":")[0].lower()


def _is_loopback(address: str) -> bool:
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return False
    return (getattr(found, "ipv4_mapped", None) or found).is_loopback


def _same_host(host: str, origin: str) -> bool:
    wanted = urlsplit(origin)
    with_port = wanted.netloc if wanted.port else f"{wanted.netloc}:{PORTS[wanted.scheme]}"
    return host.lower() in (wanted.netloc, with_port)


def caller_of(scope: Scope, door: Door) -> Caller | None:
    """Where a request comes from; None for a name or a way that is not served."""
    headers = Headers(scope=scope)
    hosts = headers.getlist("host")
    if len(hosts) != 1:
        return None
    host, name = hosts[0], name_of(hosts[0])
    peer = scope["client"][0] if scope.get("client") else ""
    local = _is_loopback(peer)
    forwarded = any(one in headers for one in FORWARDING)
    if door.behind and (forwarded or _same_host(host, door.behind)):
        asked_for = headers.get("x-forwarded-host", "")
        known = _same_host(host, door.behind) or (name in OWN_NAMES and local)
        if (
            not known
            or (asked_for and not _same_host(asked_for, door.behind))
            or headers.get("x-forwarded-proto", "https") != "https"
        ):
            return None
        # The proxy adds its caller at the end; anything before that may be forged.
        told = headers.get("x-forwarded-for", "").rpartition(",")[2].strip()
        return Caller(told or peer, False, True, door.behind)
    if forwarded:
        return None
    if name in OWN_NAMES:
        return Caller(peer, True, False, f"http://{host}") if local else None
    if door.lan and (name in door.names or name == _own_address(scope)):
        return Caller(peer, False, False, f"http://{host}")
    return None


def _own_address(scope: Scope) -> str:
    """This machine's address on which the request came in."""
    server = scope.get("server")
    if not server or not server[0]:
        return ""
    return f"[{server[0]}]" if ":" in server[0] else str(server[0])


def keep_caller(scope: Scope, caller: Caller) -> None:
    """Stores where a request comes from, for its handlers."""
    scope[_CALLER] = caller


def caller(connection: HTTPConnection) -> Caller:
    """Where a request comes from, as the guard found."""
    found: Caller = connection.scope[_CALLER]
    return found


def sees_students_pages(connection: HTTPConnection) -> bool:
    """Whether an answer is for a student: on their side, or by a way that leads only there."""
    by: Caller | None = connection.scope.get(_CALLER)
    return is_students(connection.scope["path"]) or by is None or not (by.here or by.proxied)


def lan_addresses() -> tuple[str, ...]:
    """This machine's IPv4 addresses in the local network, the most likely first."""
    found: list[str] = []
    # Nothing is sent: routing a datagram reveals the address used.
    for towards in ("192.168.255.254", "10.255.255.254", "172.31.255.254"):
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
            try:
                way.connect((towards, 9))
                found.append(way.getsockname()[0])
            except OSError:
                continue
    with contextlib.suppress(OSError):
        entries = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        found += [str(entry[4][0]) for entry in entries]
    outside = [address for address in found if not _is_loopback(address) and address != "0.0.0.0"]
    return tuple(dict.fromkeys(outside))


def own_address(given: str) -> str:
    """An address that leads to a page of this server and nothing else; '' for any other."""
    plain = given.startswith("/") and not given.startswith("//") and "\\" not in given
    return given if plain and given.isprintable() else ""
