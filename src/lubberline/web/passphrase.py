"""The instructor's passphrase and the sessions that it opens.

The school keeps a scrypt digest of the passphrase and a random key; a session is a cookie that carries
its end and a keyed digest over it. A new passphrase and a logout end all sessions.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import secrets
import threading

from lubberline.errors import InputError
from lubberline.store.school import School
from lubberline.store.settings import PASSPHRASE, SESSION_KEY
from lubberline.store.times import now

KEY = SESSION_KEY
SHORTEST = 10
LONGEST = 200
# RFC 7914; 32 MiB and some 60 ms a try.
WORK, BLOCK, LANES = 2**15, 8, 1
MEMORY_BYTES = 64 * 2**20
SESSION_S = 12 * 3600
# One try at a time: each takes its memory.
_TRYING = threading.Lock()


def _stretched(passphrase: str, salt: bytes) -> bytes:
    given = passphrase.encode("utf-8")
    return hashlib.scrypt(given, salt=salt, n=WORK, r=BLOCK, p=LANES, maxmem=MEMORY_BYTES)


def digest_of(passphrase: str) -> str:
    """What is kept of a passphrase.

    Raises:
        InputError: it is shorter than 10 signs or longer than 200.
    """
    if not SHORTEST <= len(passphrase) <= LONGEST:
        right = f"{SHORTEST} to {LONGEST} characters; several unrelated words are easy to remember"
        raise InputError("passphrase", f"it has {len(passphrase)} characters", right)
    salt = secrets.token_bytes(16)
    kept = [base64.b64encode(part).decode() for part in (salt, _stretched(passphrase, salt))]
    return "scrypt$" + "$".join(kept)


def fits(passphrase: str, digest: str) -> bool:
    """Whether this passphrase is the one that the digest was made of."""
    if not digest.startswith("scrypt$") or len(passphrase) > LONGEST:
        return False
    salt, kept = (base64.b64decode(part) for part in digest.split("$")[1:])
    with _TRYING:
        return hmac.compare_digest(_stretched(passphrase, salt), kept)


def set_passphrase(school: School, passphrase: str) -> None:
    """Sets the school's passphrase, or takes it away with ''; every session ends.

    Raises:
        InputError: as `digest_of`.
    """
    digest = digest_of(passphrase) if passphrase else ""
    # First: should the records go away in between, no session outlives its passphrase.
    end_sessions(school)
    school.settings.put(PASSPHRASE, digest)


def is_set(school: School) -> bool:
    """Whether the instructor's side asks for a passphrase."""
    return bool(school.settings.get(PASSPHRASE))


def end_sessions(school: School) -> None:
    """Makes every session's cookie worthless."""
    school.settings.put(KEY, secrets.token_urlsafe(32))


def _sign(key: str, told: str) -> str:
    return hmac.new(key.encode(), told.encode(), hashlib.sha256).hexdigest()


def new_session(school: School) -> str:
    """A cookie's text for somebody who gave the right passphrase."""
    if not school.settings.get(KEY):
        end_sessions(school)
    told = f"{int(now().timestamp()) + SESSION_S}.{secrets.token_urlsafe(9)}"
    return f"{told}.{_sign(school.settings.get(KEY), told)}"


def is_session(key: str, cookie: str) -> bool:
    """Whether a cookie's text is a session of a key that still runs."""
    told, _, signed = cookie.rpartition(".")
    end, _, _ = told.partition(".")
    if not key or not (end.isascii() and end.isdigit() and len(end) < 12):
        return False
    return hmac.compare_digest(_sign(key, told), signed) and int(end) > now().timestamp()
