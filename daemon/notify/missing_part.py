"""The word that a part of the box is missing, the probe or the sounder, and that it is there again."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from daemon.store.outbox import Letter

AFTER_S = 60.0
"""A part that is missing for so long is told [s of the firing clock]. [chosen: six tries to open a probe; a bus may
come up later than the daemon]"""


class MissingPart:
    """Tells once that a part is missing, and once that it is there again.

    Parameters
    ----------
    trouble
        Gives why it is missing, in sentences; nothing where it is there.
    of_missing
        Gives the messages that say so.
    of_return
        Gives the messages that it is there again.
    """

    def __init__(self, trouble: Callable[[], Sequence[str]] = list,
                 of_missing: Callable[[Sequence[str]], list[Letter]] = lambda why: [],
                 of_return: Callable[[], list[Letter]] = list) -> None:
        self._trouble = trouble
        self._of_missing = of_missing
        self._of_return = of_return
        self._since_s: float | None = None
        self._is_told = False

    @property
    def trouble(self) -> Sequence[str]:
        """Return why it is missing, in sentences."""
        return self._trouble()

    def letters(self, clock_s: float) -> list[Letter]:
        """Return the messages that are due now, at ``clock_s`` of the firing clock [s]."""
        why = self._trouble()
        if not why:
            told, self._since_s, self._is_told = self._is_told, None, False
            return self._of_return() if told else []
        if self._since_s is None:
            self._since_s = clock_s
        if self._is_told or clock_s - self._since_s < AFTER_S:
            return []
        self._is_told = True
        return self._of_missing(why)
