"""Start Lubberline from a checkout or from an unpacked pack: `python3 start.py` (Windows: `py start.py`).

The rest is in `tools/start/` and needs only Python's standard library. This file also runs on old Pythons,
to tell their users which version they need.
"""

import sys

SYSTEM_ADVICE = {
    "win32": "winget install Python.Python.3.13",
    "darwin": "brew install python@3.13",
    "linux": "sudo apt install python3.11    (or your system's own name for it)",
}


def refuse(version):  # type: ignore[no-untyped-def]
    """The message for a Python that is too old or too new, or nothing."""
    if (3, 11) <= version[:2] <= (3, 14):
        return ""
    found = ".".join([str(part) for part in version[:2]])
    command = SYSTEM_ADVICE.get(sys.platform, SYSTEM_ADVICE["linux"])
    return (
        "Lubberline runs on Python 3.11 to 3.14; this is Python " + found + ".\n"
        "One command that adds one:\n    " + command + "\n"
        "Then start it with that one, for example: python3.11 start.py"
    )


if __name__ == "__main__":
    refusal = refuse(sys.version_info)  # type: ignore[no-untyped-call]
    if refusal:
        sys.exit(refusal)
    from tools.start.door import main

    sys.exit(main(sys.argv[1:]))
