"""The word that the kiln is not watched since there is no probe, and that it is again."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from daemon.notify.other_messages import Post, of_missing_probe, of_probe_found
from daemon.store.outbox import Letter

AFTER_S = 60.0
"""A probe that is missing for so long is told [s of the firing clock]. [chosen: six tries; the bus may come up later
than the daemon]"""


class NoProbe:
    """Tells once that there is no probe, and once that there is one again.

    Parameters
    ----------
    post
        Whom to tell.
    trouble
        Gives why there is no probe, in sentences; nothing where there is one.
    """

    def __init__(self, post: Post, trouble: Callable[[], Sequence[str]]) -> None:
        self._post = post
        self._trouble = trouble
        self._since_s: float | None = None
        self._is_told = False

    @property
    def trouble(self) -> Sequence[str]:
        """Return why there is no probe, in sentences."""
        return self._trouble()

    def letters(self, clock_s: float) -> list[Letter]:
        """Return the messages that are due now, at ``clock_s`` of the firing clock [s]."""
        why = self._trouble()
        if not why:
            told, self._since_s, self._is_told = self._is_told, None, False
            return of_probe_found(self._post) if told else []
        if self._since_s is None:
            self._since_s = clock_s
        if self._is_told or clock_s - self._since_s < AFTER_S:
            return []
        self._is_told = True
        return of_missing_probe(why, self._post)
