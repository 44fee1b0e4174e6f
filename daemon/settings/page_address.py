"""The address at which the page listens: what can be seen of it before anybody tries."""

from __future__ import annotations

import re
from ipaddress import ip_address

LOOPBACK = frozenset({"127.0.0.1", "localhost", "::1"})
"""Addresses that only this computer reaches."""
_LONGEST_NAME = 253
"""Characters of a host's name at most. [source: RFC 1035, section 2.3.4]"""
_NAME = re.compile(r"(?!-)[a-z0-9-]{1,63}(?<!-)(\.(?!-)[a-z0-9-]{1,63}(?<!-))*", re.IGNORECASE)
"""A host's name: letters, digits and hyphens between dots (RFC 1123, section 2.1)."""


def address_problem(host: str, *, behind_tls: bool) -> tuple[str, str] | None:
    """Return what is wrong with an address to listen at, and the remedy; None where nothing is to be seen."""
    if not _may_be_one(host):
        return (f"{host[:60]!r} is no address.",
                "Write 0.0.0.0 for the whole home network, or 127.0.0.1 for this computer only.")
    if behind_tls and host not in LOOPBACK:
        return (f"{host}: behind_tls is for a page that only a proxy on this machine reaches.",
                "Take host out of [page], or behind_tls.")
    return None


def _may_be_one(host: str) -> bool:
    """Return whether it is an IP address, or a name that a computer can have."""
    try:
        ip_address(host)
    except ValueError:
        # A name whose last part is digits would be a mistyped IP address.
        last = host.rsplit(".", 1)[-1]
        return len(host) <= _LONGEST_NAME and _NAME.fullmatch(host) is not None and not last.isdigit()
    return True
