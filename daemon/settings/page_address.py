"""The address at which the page listens: what can be seen of it, and what a try tells."""

from __future__ import annotations

import errno
import re
import socket
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


def listen(host: str, port: int) -> socket.socket:
    """Return a socket that listens at an address; port 0 is any that is free.

    Raises
    ------
    OSError
        Where the name is not found, the address is not this computer's, or the port is taken.
    """
    family, kind, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    listening = socket.socket(family, kind)
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(address)
        listening.listen(128)
    except OSError:
        listening.close()
        raise
    return listening


def host_at_fault(err: OSError) -> tuple[str, str] | None:
    """Return what is wrong with a host at which ``listen`` failed, and the remedy; None where it is not the host."""
    if isinstance(err, socket.gaierror):
        what = "no computer of this name is found."
    elif err.errno in (errno.EADDRNOTAVAIL, errno.EAFNOSUPPORT):
        what = "this is no address of this computer."
    else:
        return None
    return what, "Write 0.0.0.0 for the whole home network, or 127.0.0.1 for this computer only."


def host_doubt(host: str) -> str:
    """Return a sentence about an address at which this computer can't listen now; empty where it can."""
    try:
        listen(host, 0).close()
    except OSError as err:
        if wrong := host_at_fault(err):
            return f"The page can't listen at {host} now: {wrong[0]} It would not start. {wrong[1]}"
    return ""


def _may_be_one(host: str) -> bool:
    """Return whether it is an IP address, or a name that a computer can have."""
    try:
        ip_address(host)
    except ValueError:
        # A name whose last part is digits would be a mistyped IP address.
        last = host.rsplit(".", 1)[-1]
        return len(host) <= _LONGEST_NAME and _NAME.fullmatch(host) is not None and not last.isdigit()
    return True
