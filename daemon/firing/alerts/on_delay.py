"""What must last before it is told: that a kind is found at all, and that it is worth a wake."""

from __future__ import annotations

from collections.abc import Container, Set
from dataclasses import replace
from typing import Any

from daemon.firing.events import Rank
from daemon.firing.kind import Finding


class OnDelay:
    """Knows since when each kind has been found without a pause, and since when it has been worth a wake."""

    def __init__(self) -> None:
        self._untold_since_s: dict[str, float] = {}
        """Since when a kind has been found that has no alert yet [s]."""
        self._wakes_since_s: dict[str, float] = {}

    @property
    def waiting(self) -> Set[str]:
        """Return the kinds that were found and have no alert yet."""
        return self._untold_since_s.keys()

    def is_over(self, finding: Finding[Any], t_s: float) -> bool:
        """Return whether a finding without an alert has lasted for its on-delay; then it waits no more."""
        name = finding.kind.name
        if t_s - self._untold_since_s.setdefault(name, t_s) < finding.kind.on_delay_s:
            return False
        del self._untold_since_s[name]
        return True

    def as_lasting(self, finding: Finding[Any], t_s: float) -> Finding[Any]:
        """Return a finding, a look until it has been worth a wake for its on-delay without a pause.

        A rank that is reached for one beat says as little as a finding of one beat: it may be the scatter of three
        readings, or one kick of a controller. (Weighed: to be surer of each slope that makes a wake. Slow falls would
        then wait for minutes. This costs them a beat, or one reading of a slow logger.)
        """
        name = finding.kind.name
        if finding.rank is not Rank.WAKE:
            self._wakes_since_s.pop(name, None)
            return finding
        lasted_s = t_s - self._wakes_since_s.setdefault(name, t_s)
        return finding if lasted_s >= finding.kind.on_delay_s else replace(finding, rank=Rank.LOOK)

    def forget(self, kind: str) -> None:
        """Begin anew with a kind that was looked for and not found."""
        self._untold_since_s.pop(kind, None)
        self._wakes_since_s.pop(kind, None)

    def clear(self) -> None:
        """Begin anew with every kind."""
        self._untold_since_s.clear()
        self._wakes_since_s.clear()

    def of(self, kinds: Container[str]) -> OnDelay:
        """Return what is known of some kinds."""
        found = OnDelay()
        found._untold_since_s = {kind: at_s for kind, at_s in self._untold_since_s.items() if kind in kinds}
        found._wakes_since_s = {kind: at_s for kind, at_s in self._wakes_since_s.items() if kind in kinds}
        return found

    def told(self, kind: str) -> None:
        """Take notice that a kind has an alert by the record."""
        self._untold_since_s.pop(kind, None)
