"""Who may keep a connection to the page: so many an address, and no request that never ends.

waitress takes a hundred connections and waits for each as long as a byte comes now and then. One bad neighbour could
so keep everybody out, or fill the temporary folder with pictures that are never sent to their end.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from ipaddress import IPv6Address, ip_address
from typing import Any
from weakref import WeakKeyDictionary

from web.security.refusals import say_refusals
from web.settings import MAX_BODY_BYTES

CONNECTIONS_FROM_ONE = 20
"""Connections that one address may keep. [chosen: three browsers of six each]"""
CONNECTIONS_FROM_ALL = 200
"""Connections that are kept altogether; further ones wait. [chosen: ten addresses' worth]"""
LONGEST_ASKING_S = 30.0
"""A form or an address must have come whole within this [s]. [chosen: ten times a bad line's time]"""
LONGEST_SENDING_S = 300.0
"""A picture must have come whole within this [s]. [derived: 12 MB at 40 kB/s, a bad line]"""
UPLOADS_FROM_ONE, UPLOADS_FROM_ALL = 2, 4
"""Pictures under way at once, from one address and from all. [chosen: four bound the temporary folder]"""
LOOK_EVERY_S = 1
"""How often the connections are looked over [s]. [chosen: before a fast line sends more than a few pictures]"""
WAITING_BYTES = 1024 * 1024
"""So much of an answer that is made piece by piece waits in memory at most [bytes]. Only the download of a copy is
made so; waitress would keep 16 MB of it, in each of its threads. [chosen: a second on a home network]"""
CHANNEL_TIMEOUT_S = 60
"""A connection that asks nothing is closed after this [s]. [chosen: a browser opens another one by itself]"""
_LOOPBACK = frozenset({"127.0.0.1", "::1"})


@dataclass(frozen=True, slots=True)
class Unfinished:
    """A request that has not come whole yet.

    Attributes
    ----------
    origin
        Where it comes from, as ``origin_of`` says.
    since_s
        When it began [s].
    sent_bytes, promised_bytes
        How much of its body came, and how much its head promised.
    """

    origin: str
    since_s: float
    sent_bytes: int
    promised_bytes: int

    @property
    def is_upload(self) -> bool:
        """Return whether it is longer than any form."""
        return max(self.sent_bytes, self.promised_bytes) > MAX_BODY_BYTES


def origin_of(address: str) -> str:
    """Return what counts as one address: of IPv6 the network, since a machine has as many addresses as it likes."""
    try:
        found = ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(found, IPv6Address):
        return str(found.ipv4_mapped or (found if found.is_loopback else int(found) >> 64))
    return address


def to_close(unfinished: Iterable[Unfinished], now_s: float) -> list[Unfinished]:
    """Return the requests to give up: those that last too long, and of too many pictures those sent most slowly."""
    kept = sorted(unfinished, key=lambda one: _speed(one, now_s), reverse=True)
    uploads: Counter[str] = Counter()
    given_up = []
    for one in kept:
        late = now_s - one.since_s > (LONGEST_SENDING_S if one.is_upload else LONGEST_ASKING_S)
        crowd = one.is_upload and (uploads[one.origin] >= UPLOADS_FROM_ONE or uploads.total() >= UPLOADS_FROM_ALL)
        if late or crowd:
            given_up.append(one)
        elif one.is_upload:
            uploads[one.origin] += 1
    return given_up


def _speed(one: Unfinished, now_s: float) -> float:
    """Return how fast a body came so far [bytes/s]; of a request that has just begun at least a second's."""
    return one.sent_bytes / max(now_s - one.since_s, 1.0)


def bound(server: Any, now_s: Callable[[], float], *, behind_proxy: bool) -> None:
    """Hold a waitress server to these bounds.

    Parameters
    ----------
    server
        As ``waitress.create_server`` returns it.
    now_s
        A clock that never goes back [s].
    behind_proxy
        Whether everybody comes through a proxy on this machine, which then counts as many addresses.
    """
    make, look_over = server.channel_class, server.maintenance
    began: WeakKeyDictionary[Any, float] = WeakKeyDictionary()

    def channel(of: Any, sock: Any, address: Any, adjustments: Any, map: Any = None) -> Any:
        """Make a connection's channel, or refuse an address that has enough of them."""
        origin = origin_of(str(address[0]))
        if not (behind_proxy and origin in _LOOPBACK):
            has = sum(origin_of(str(one.addr[0])) == origin for one in of.active_channels.values())
            if has >= CONNECTIONS_FROM_ONE:
                sock.close()
                return None
        made = make(of, sock, address, adjustments, map=map)
        say_refusals(made)
        return made

    def maintenance(wall_s: float) -> None:
        """Close what is idle, as waitress does, and what lasts too long."""
        look_over(wall_s)
        now = now_s()
        found = {}
        for one in list(server.active_channels.values()):
            asked = one.request
            if asked is not None:
                origin = f"proxied {id(one)}" if behind_proxy else origin_of(str(one.addr[0]))
                found[one] = Unfinished(origin, began.setdefault(asked, now), asked.body_bytes_received,
                                        asked.content_length)
        given_up = {id(which) for which in to_close(found.values(), now)}
        for one, which in found.items():
            if id(which) in given_up:
                one.will_close = True

    server.channel_class = channel
    server.maintenance = maintenance


def adjustments() -> dict[str, int]:
    """Return what waitress itself is told, as arguments of ``create_server``."""
    return {"connection_limit": CONNECTIONS_FROM_ALL, "channel_timeout": CHANNEL_TIMEOUT_S,
            "cleanup_interval": LOOK_EVERY_S, "outbuf_high_watermark": WAITING_BYTES,
            "inbuf_overflow": MAX_BODY_BYTES}
