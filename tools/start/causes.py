"""Finds in a tool's output what went wrong, and says it with what to do in one sentence."""

from __future__ import annotations

import re
from collections.abc import Iterable

CERTIFICATES = (
    "The connection is checked by a certificate that Node does not know, as behind a company's proxy. "
    "Set NODE_EXTRA_CA_CERTS to that certificate's file and start again."
)
# In order: the first that fits is the cause; network failures, with their many patterns, come last.
CAUSES: tuple[tuple[str, str], ...] = (
    (r"SELF_SIGNED_CERT_IN_CHAIN|UNABLE_TO_(GET_ISSUER|VERIFY_LEAF)", CERTIFICATES),
    (
        r"CERTIFICATE_VERIFY_FAILED|SSLCertVerificationError",
        "The connection is checked by a certificate that pip does not know, as behind a company's proxy. "
        "Set PIP_CERT to that certificate's file and start again.",
    ),
    (
        r"No space left on device|ENOSPC|not enough space on the disk",
        "The disk is full. Free about 1 GB and start again.",
    ),
    (
        r"DO NOT MATCH THE HASHES",
        "A downloaded package is not the one in the lock, so it was not installed. "
        "Start again; if it happens again, your package index serves other files: ask whoever runs it.",
    ),
    (
        r"Temporary failure in name resolution|getaddrinfo|Name or service not known|NewConnectionError|"
        r"Failed to establish|Max retries exceeded|ConnectTimeout|Read timed out|ProxyError|"
        r"ENOTFOUND|EAI_AGAIN|ECONNREFUSED|ECONNRESET|ETIMEDOUT|Network is unreachable",
        "The package index could not be reached. Connect to the internet (behind a proxy, set HTTPS_PROXY) "
        "and start again; what was fetched is kept.",
    ),
    (
        r"No matching distribution found|is not a supported wheel",
        "There is no ready-made package for this system and this Python. "
        "docs/developers/decisions.md lists those that work.",
    ),
    (
        r"Permission denied|EACCES|Access is denied",
        "This folder cannot be written to. Move it to a place where you may write, and start again.",
    ),
)


def explain(lines: Iterable[str]) -> str:
    """The sentence for the first known cause in the output, or nothing."""
    text = "\n".join(lines)
    for signs, sentence in CAUSES:
        if re.search(signs, text):
            return sentence
    return ""
