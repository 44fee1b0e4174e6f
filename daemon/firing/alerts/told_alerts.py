"""All alerts of one firing, and which of them follows from which."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from daemon.firing.alerts.live_alert import LiveAlert, brings_about, is_vaguer, named_s, speaks_for
from daemon.firing.events import Alert, AlertChanged
from daemon.firing.kind import SAME_TROUBLE_S, Finding, Kind


class ToldAlerts:
    """The alerts that stand and those that are over; answers which one is the cause of a new finding.

    Parameters
    ----------
    kinds
        Every kind that may be found.
    """

    def __init__(self, kinds: Iterable[Kind[Any]]) -> None:
        self.kinds = {kind.name: kind for kind in kinds}
        self.live: dict[str, LiveAlert] = {}
        """Those that stand, by their kind."""
        self.over: list[Alert] = []
        self.keyed_in_s = float("-inf")
        """When the lines were keyed in by which the firing goes on [s]."""
        self.planned_s = float("-inf")
        """When the kiln was last seen to hold where its plan holds, or to be heated still [s]."""
        self._asks = {name for kind in self.kinds.values() for name in kind.asked_for_by}

    @property
    def all(self) -> tuple[Alert, ...]:
        """Return every alert, first raised first, with the words it was last told in."""
        return tuple(sorted([*self.over, *(live.alert for live in self.live.values())], key=lambda a: a.no))

    def vaguer(self, finding: Finding[Any], t_s: float) -> LiveAlert | None:
        """Return the first alert that told of the same trouble under a vaguer name; None where none did."""
        kind = finding.kind
        if not kind.may_replace_now(finding.facts):
            return None
        first = [live for live in self.live.values()
                 if any(vaguer.for_facts(finding.facts) and is_vaguer(live, vaguer, t_s)
                        for vaguer in kind.may_replace)]
        return min(first, key=lambda live: live.alert.no, default=None)

    def cause(self, finding: Finding[Any], t_s: float) -> str | None:
        """Return the kind that ``finding`` is a consequence of, where that is told already."""
        asked = self.asks_for(finding)
        if asked is not None:
            return asked
        causes = [kind for kind, live in self.live.items()
                   if speaks_for(live, finding, t_s) or self.is_asked_for(live.alert)]
        causes += [alert.kind for alert in self.just_over(finding, t_s)]
        return next((kind for kind in causes if self.explains(kind, finding)), None)

    def asks_for(self, finding: Finding[Any]) -> str | None:
        """Return the kind that woke for the very act that ``finding`` tells of."""
        planned_s = max(self.planned_s, self.keyed_in_s)
        return next((alert.kind for alert in self.all if brings_about(alert, finding, planned_s)), None)

    @property
    def told_to_end_s(self) -> float:
        """Return when the maker was last told to end the firing [s]; −∞ where never."""
        ever = (*self.over, *(live.alert for live in self.live.values()))
        return max((named_s(alert) for alert in ever if alert.kind in self._asks), default=float("-inf"))

    def is_asked_for(self, alert: Alert) -> bool:
        """Return whether an alert tells of what a wake asked for, or of what follows from that."""
        cause = next((other for other in reversed(self.all)
                      if other.kind == alert.under and other.no < alert.no), None)
        if alert.under is None or cause is None:
            return False
        is_act = alert.under in self.kinds[alert.kind].asked_for_by and cause.woke_s is not None
        return is_act or self.is_asked_for(cause)

    def since_s(self, cause: str | None) -> float:
        """Return since when a cause is told [s], before which none of its consequences began; −∞ for none."""
        if cause is None:
            return float("-inf")
        live = self.live.get(cause)
        return live.alert.since_s if live is not None else max(
            (alert.since_s for alert in self.over if alert.kind == cause), default=float("-inf"))

    def explains(self, cause: str, finding: Finding[Any]) -> bool:
        """Return whether a finding may be a consequence of the kind named ``cause``."""
        return cause in finding.kind.may_stand_under or finding.kind.family in self.kinds[cause].explains

    def just_over(self, finding: Finding[Any], t_s: float) -> list[Alert]:
        """Return the alerts as loud as ``finding`` that have only just gone, by the same plan."""
        after_s = max(t_s - SAME_TROUBLE_S, self.keyed_in_s)
        return [alert for alert in self.over if alert.rank.height >= finding.rank.height
                and alert.cleared_s is not None and alert.cleared_s > after_s]

    def spoken_for(self, live: LiveAlert, finding: Finding[Any], t_s: float) -> bool:
        """Return whether the cause that ``live`` stands under is loud enough for both, and stands or just stood."""
        under = live.alert.under
        if under is None:
            return False
        if self.is_asked_for(live.alert):
            return finding.kind.is_act(finding.facts)
        if any(alert.kind == under for alert in self.just_over(finding, t_s)):
            return True
        cause = self.live.get(under)
        return cause is not None and speaks_for(cause, finding, t_s)

    def list_under(self, name: str, belongs: Callable[[Alert], bool], t_s: float) -> list[AlertChanged]:
        """List every alert that belongs there under the one named ``name``, also those that are over.

        Returns
        -------
        list
            The steps, which are not sent.
        """
        changes: list[AlertChanged] = []

        def listed(alert: Alert) -> Alert:
            if not belongs(alert):
                return alert
            alert = replace(alert, under=name)
            changes.append(AlertChanged(t_s, "sharpened", alert, alert.rank, silent=True))
            return alert

        self.over = [listed(alert) for alert in self.over]
        for live in self.live.values():
            live.alert = listed(live.alert)
        return changes
