"""One channel's messages, tried one after another, apart from every other channel's."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Sequence
from typing import NamedTuple

from daemon.delivery.envelope import as_printed
from daemon.delivery.sender import Kind, Outcome, Sender
from daemon.errors import BadInput
from daemon.store.outbox import Mark, Pending

LOG = logging.getLogger("lehrling.deliver")

STUBBORN_TRIES = 4
"""After so many tries a message no longer holds up those behind it: perhaps only it is refused. [chosen: a server
that was away for half a minute has not refused the message]"""
STUBBORN_A_ROUND = 3
"""How many such messages one round tries before it leaves the channel alone. [chosen: a few, so that a round
ends]"""
STUCK_S = 300.0
"""An attempt that has not come back after so long never will [s]. [chosen: far beyond the time limits of the
senders]"""


class Tried(NamedTuple):
    """One message and what its attempt came to."""

    message: Pending
    outcome: Outcome


def kind_of(message: Pending) -> Kind:
    """Return the kind a channel may colour or ring by."""
    if message.change == "over":
        return "over"
    return "wake" if message.rank == "wake" else "look"


class Lane:
    """One channel: its messages go one after another, in a thread so that no channel waits for another."""

    def __init__(self, name: str, sender: Sender, envelope: Callable[[Pending], str]) -> None:
        self.name = name
        self.sender = sender
        self.envelope = envelope
        self.newest_seen = 0
        self.unmarked: dict[int, Mark] = {}
        self.next_try_s: float | None = None
        self._thread: threading.Thread | None = None
        self._tried: list[Tried] = []
        self._began_s = 0.0

    def still_waiting(self, messages: Sequence[Pending]) -> list[Pending]:
        """Return what is left of ``messages`` when the marks that could not be stored yet are counted."""
        left = []
        for message in messages:
            mark = self.unmarked.get(message.outbox_id)
            if mark is None:
                left.append(message)
            elif mark.next_try_utc is not None:
                left.append(message._replace(tries=mark.tries))
        return left

    @property
    def busy(self) -> bool:
        """Return whether an attempt has begun whose outcome has not been taken."""
        return self._thread is not None

    def begin(self, messages: Sequence[Pending], now_s: float) -> None:
        """Start trying ``messages``, oldest first."""
        self._tried, self._began_s = [], now_s
        self._thread = threading.Thread(
            target=self._try_all, args=(list(messages),), name=f"channel {self.name}", daemon=True)
        self._thread.start()

    def outcome(self, now_s: float) -> list[Tried] | None:
        """Return what a finished attempt came to; None while it runs.

        Raises
        ------
        TimeoutError
            When the attempt will not come back.
        """
        if self._thread is None:
            return None
        if self._thread.is_alive():
            if now_s - self._began_s > STUCK_S:
                raise TimeoutError(f"channel {self.name} did not come back in {STUCK_S:.0f} s")
            return None
        self._thread = None
        return self._tried

    def _try_all(self, messages: list[Pending]) -> None:
        """Try the oldest message; while that one is refused again and again, a few behind it as well."""
        for message in messages[:STUBBORN_A_ROUND]:
            outcome = self._try(message)
            self._tried.append(Tried(message, outcome))
            if outcome.sent or message.tries + 1 < STUBBORN_TRIES:
                return

    def _try(self, message: Pending) -> Outcome:
        """Return what one attempt came to, whatever the sender raises."""
        try:
            return self.sender(as_printed(message.title), as_printed(self.envelope(message)), kind_of(message))
        except BadInput as err:
            return Outcome(False, err.text)
        except Exception as err:
            # The other side's libraries may raise anything; their words may hold the address.
            LOG.warning("%s: %s while sending", self.name, type(err).__name__)
            return Outcome(False, f"{type(err).__name__} while sending")
