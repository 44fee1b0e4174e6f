"""The passcode: kept as a slow hash in a file of its own, compared one at a time."""

from __future__ import annotations

import hashlib
import os
import secrets
import threading
from pathlib import Path

from werkzeug.security import check_password_hash, generate_password_hash

from daemon.errors import BadInput
from web.security.common_passcodes import is_common

MIN_CHARS = 8
MAX_CHARS = 200
"""Length of a passcode [characters]. [source: OWASP ASVS 5.0, 6.2.1, at least 8; the upper bound is chosen, it
bounds the hash]"""
METHOD = "scrypt:32768:8:3"
"""scrypt with 32 MiB and three passes, one of the equal choices OWASP's cheat sheet gives (from memory)."""

NOBODY = "!"
"""Stands for a hash that no passcode fits."""

_ONE_AT_A_TIME = threading.Lock()
"""A hash takes 32 MiB; several at once would push a small machine into swapping."""


def check_words(passcode: str) -> str | None:
    """Return what is wrong with a new passcode, in words; None where it will do."""
    if len(passcode) < MIN_CHARS:
        return f"The passcode has {len(passcode)} characters. Use at least {MIN_CHARS}; a few plain words do well."
    if len(passcode) > MAX_CHARS:
        return f"The passcode has {len(passcode)} characters. Use at most {MAX_CHARS}."
    if is_common(passcode):
        return "Too many people use this one, so it is tried first. A few plain words that are yours do well."
    return None


def keep(path: Path, passcode: str) -> None:
    """Keep the hash of ``passcode`` in ``path``, readable by the service only.

    Raises
    ------
    BadInput
        Where the passcode is too short or too long, or the file can't be written.
    """
    wrong = check_words(passcode)
    if wrong:
        raise BadInput("passcode", wrong)
    with _ONE_AT_A_TIME:
        kept = generate_password_hash(passcode, method=METHOD)
    write_private(path, kept + "\n")


def write_private(path: Path, text: str) -> None:
    """Write ``text`` to ``path`` in one step, readable and writable by its owner only.

    Written by root, it belongs to whom the folder belongs to: the service that has to read it.
    """
    part = path.with_name(path.name + ".part")
    try:
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(text)
        if os.geteuid() == 0:
            owner = path.parent.stat()
            os.chown(part, owner.st_uid, owner.st_gid)
        part.replace(path)
    except OSError as error:
        raise BadInput(str(path), f"can’t be written ({error.strerror}).",
                       "Check the folder’s owner and free space.") from error


def kept_hash(path: Path) -> str | None:
    """Return the kept hash; None where no passcode was set yet.

    A file that is there but can't be read is a lock nobody has the key to, never an open door.
    """
    try:
        return path.read_text(encoding="ascii").strip() or NOBODY
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError):
        return NOBODY


def fits(path: Path, passcode: str) -> bool:
    """Return whether ``passcode`` is the kept one; takes a fifth of a second, one caller at a time."""
    kept = kept_hash(path)
    if kept is None or len(passcode) > MAX_CHARS:
        return False
    with _ONE_AT_A_TIME:
        try:
            return check_password_hash(kept, passcode)
        except ValueError:  # the file holds something else
            return False


def fingerprint(path: Path) -> str:
    """Return a mark of the kept passcode, so that a session ends when it is changed."""
    return hashlib.sha256((kept_hash(path) or "").encode()).hexdigest()[:16]


def page_key(data_dir: Path) -> bytes:
    """Return the key that signs sessions, made once and kept beside the passcode.

    Raises
    ------
    BadInput
        Where it can't be written.
    """
    path = data_dir / "page-key"
    try:
        kept = path.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        kept = ""
    if len(kept) < 64:
        kept = secrets.token_hex(32)
        write_private(path, kept + "\n")
    return kept.encode()
