"""The secret in the address of the reminders, since a calendar can give no passcode; and how logs leave it out."""

from __future__ import annotations

import hmac
import logging
import re
from hashlib import sha256

_DIGITS = 32
"""Hexadecimal digits of the secret. [chosen: 128 bits, which nobody guesses]"""
_HOUSE_DIGITS = 12
"""Hexadecimal digits that tell the reminders of two houses apart. [chosen: 48 bits, for few houses]"""
_ADDRESS = re.compile(r"(?<=/calendar/)[^\s\"'/?:]+")


def token(key: bytes, passcode_mark: str) -> str:
    """Return the secret.

    Parameters
    ----------
    key
        The page's key (see ``passcode.page_key``).
    passcode_mark
        A mark of the passcode that holds (see ``passcode.fingerprint``), so that a new one makes a new address.
    """
    return signed(key, f"calendar of {passcode_mark}")[:_DIGITS]


def is_token(said: str, key: bytes, passcode_mark: str) -> bool:
    """Return whether ``said`` is the secret; how long this takes tells nothing of it."""
    return hmac.compare_digest(said.encode(errors="replace"), token(key, passcode_mark).encode())


def house_mark(key: bytes) -> str:
    """Return a mark of this house for the ids of its reminders, which a new passcode leaves as it is."""
    return signed(key, "house in calendars")[:_HOUSE_DIGITS]


def signed(key: bytes, text: str) -> str:
    """Return a secret of 64 hexadecimal digits that only who has the key can make of ``text``."""
    return hmac.new(key, text.encode(), sha256).hexdigest()


class HideAddress(logging.Filter):
    """Takes the secret out of what is logged, whoever logs it: the page itself or its server."""

    def filter(self, record: logging.LogRecord) -> bool:
        """Let every record pass, with the secret left out."""
        said = record.getMessage()
        if "/calendar/" in said:
            record.msg, record.args = _ADDRESS.sub("…", said), ()
        return True
