"""The text of a file that a person names."""

from __future__ import annotations

from pathlib import Path

from lubberline.errors import InputError

GREATEST_BYTES = 500_000


def text_of(path: str | Path, wanted: str, most_bytes: int = GREATEST_BYTES) -> str:
    """The text of a file in UTF-8, without a byte order mark.

    Args:
        path: of the file.
        wanted: what the file should be, for messages: 'a blueprint file (TOML)'.
        most_bytes: a larger file is refused.

    Raises:
        InputError: when it cannot be read, is too large or is not UTF-8.
    """
    try:
        # No more is read than is allowed: a pipe has no size to ask for.
        with Path(path).open("rb") as stream:
            data = stream.read(most_bytes + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "cannot be read"
        raise InputError(str(path), reason, f"give the path of {wanted}") from None
    if len(data) > most_bytes:
        raise InputError(str(path), "too large", f"give {wanted} under {most_bytes // 1000} kB")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        raise InputError(str(path), "not a text file in UTF-8", f"give {wanted}") from None
    return text.removeprefix("\ufeff")
