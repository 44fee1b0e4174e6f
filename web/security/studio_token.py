"""The token that the studio's server shows, since a program enters no passcode."""

from __future__ import annotations

import hmac

from web.security.calendar_address import signed


def token(key: bytes, passcode_mark: str) -> str:
    """Return the token, 64 hexadecimal digits.

    Parameters
    ----------
    key
        The page's key (see ``passcode.page_key``).
    passcode_mark
        A mark of the passcode that holds (see ``passcode.fingerprint``), so that a new one makes a new token.
    """
    return signed(key, f"studio by {passcode_mark}")


def is_shown(authorization: str, key: bytes, passcode_mark: str) -> bool:
    """Return whether a header ``Authorization`` shows the token (RFC 6750, section 2.1).

    How long this takes tells nothing of it.
    """
    wanted = f"Bearer {token(key, passcode_mark)}"
    return hmac.compare_digest(authorization.encode(errors="replace"), wanted.encode())
