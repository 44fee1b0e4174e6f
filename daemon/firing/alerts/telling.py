"""Which steps of alerts are sent, and which only stand on the page: repeats, floods, and what the maker knows of."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection

from daemon.firing.alerts.live_alert import LiveAlert, make_quiet
from daemon.firing.events import AlertChanged, Change, Rank

REST_OF_FIRING_S = 1e8
"""A quiet for the rest of a firing lasts so long [s]. [chosen: three years, longer than any firing]"""
FLOOD_MOST, FLOOD_S = 4, 600.0
"""So many told steps within so long are as many as somebody asleep takes in [s].
[chosen: EEMUA 191 calls ten in ten minutes a flood; one asleep takes in fewer]"""


class Telling:
    """Decides of each step whether it is sent; remembers what was told when."""

    def __init__(self) -> None:
        self._sounded: dict[tuple[str, Rank | None], float] = {}
        """When each kind was last told at each rank; None is its end [s]."""
        self._told_s: deque[float] = deque(maxlen=FLOOD_MOST)
        self.is_own_display_watched = False
        """Whether the maker watches the kiln's own display, so that a blind Lehrling rings nobody."""

    def step(self, t_s: float, change: Change, live: LiveAlert, before: Rank | None) -> AlertChanged:
        """Return a step, in silence where the same was just told, or too much was, or the maker knows of it."""
        if self.is_own_display_watched and live.finding.kind.is_of_probe:
            make_quiet(live, t_s + REST_OF_FIRING_S)
            live.told = False
            return AlertChanged(t_s, change, live.alert, before, silent=True)
        alert = live.alert
        if before is alert.rank or alert.rank is Rank.LOG or alert.under is not None:
            live.told = live.told and before is not None
            return AlertChanged(t_s, change, alert, before)
        last_s = self._sounded.get((alert.kind, alert.rank), float("-inf"))
        flood = alert.rank is Rank.LOOK and len(self._told_s) == FLOOD_MOST and t_s - self._told_s[0] < FLOOD_S
        silent = flood or t_s - last_s < live.finding.kind.resound_s
        live.told = not silent or (live.told and before is not None)
        if silent and not flood:
            live.sounded_s = last_s
        elif not silent:
            self._sounded[alert.kind, alert.rank] = t_s
            self._told_s.append(t_s)
        return AlertChanged(t_s, change, alert, before, silent=silent)

    def over(self, t_s: float, live: LiveAlert) -> AlertChanged:
        """Return the end of an alert, in silence where none was told, or another end a moment ago."""
        kind = live.finding.kind
        again = t_s - self._sounded.get((kind.name, None), float("-inf")) < kind.resound_s
        if live.told and not again:
            self._sounded[kind.name, None] = t_s
        return AlertChanged(t_s, "over", live.alert, live.alert.rank, silent=again or not live.told)

    def sounded(self, t_s: float, live: LiveAlert) -> None:
        """Remember that a wake has sounded again."""
        live.told = True
        self._sounded[live.alert.kind, Rank.WAKE] = t_s

    def forget_all_but(self, kinds: Collection[str]) -> None:
        """Forget when kinds were told that, by the record, never were."""
        self._sounded = {key: told_s for key, told_s in self._sounded.items() if key[0] in kinds}
