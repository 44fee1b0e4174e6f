"""An alert that stands, with what the board remembers of it, and what it may have to do with a new finding."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from daemon.firing.events import Alert, Rank
from daemon.firing.kind import SAME_TROUBLE_S, Finding, Kind, Vaguer

_SAME_SINCE_S = 120.0
"""A past event that began within this of another one's beginning is the same [s].
[tuned: by trial on the bench, study not kept]"""


@dataclass(slots=True)
class LiveAlert:
    """An alert that is not over."""

    alert: Alert
    finding: Finding[Any]
    """As last seen; without facts where the record alone knows of it (see as_told.py)."""
    seen_s: float
    sounded_s: float
    severity_c: float
    heard_severity_c: float
    unseen: bool = False
    """Whether it was looked for and not seen, the last time it was judged."""
    quiet_until_s: float = 0.0
    asked_quiet: bool = False
    """Whether the quiet was asked for, so that it ends with the phase."""
    told: bool = True
    """Whether the maker has heard of it."""


def knows(alert: Alert, finding: Finding[Any], t_s: float) -> bool:
    """Return whether an alert tells of a finding already, under a name it had; never of a louder one."""
    is_runaway = not finding.kind.may_be_quieted and finding.rank is Rank.WAKE
    if finding.rank.height > alert.rank.height or is_runaway:
        return False
    if finding.kind.name not in (kind for _, kind in alert.named):
        return False
    return not alert.raised_s < finding.since_s < t_s - SAME_TROUBLE_S


def is_the_same(over: Alert, finding: Finding[Any]) -> bool:
    """Return whether an alert that is over told of this very event: it flickers, and nothing new has happened."""
    began_s = finding.since_s if over.under is None else max(over.since_s, finding.since_s)  # as in Board._raise
    return finding.kind.is_past_event and over.kind == finding.kind.name and over.step == finding.step and (
        abs(over.since_s - began_s) < _SAME_SINCE_S and over.rank.height >= finding.rank.height)


def is_vaguer(live: LiveAlert, vaguer: Vaguer, t_s: float) -> bool:
    """Return whether an alert has the name that ``vaguer`` allows to be replaced, and may lose it now."""
    alert, kind = live.alert, live.finding.kind
    if vaguer.name not in (kind.name, kind.family) or t_s - alert.raised_s >= vaguer.within_s:
        return False
    return not (vaguer.is_uncaused and alert.under is not None) and (
        vaguer.below is None or alert.rank.height < vaguer.below.height)


def make_quiet(live: LiveAlert, until_s: float) -> None:
    """Silence an alert until a time [s], where its kind may be quieted."""
    live.heard_severity_c = live.severity_c
    if live.finding.kind.may_be_quieted:
        live.quiet_until_s = max(live.quiet_until_s, until_s)
        live.alert = replace(live.alert, quiet_until_s=live.quiet_until_s)


def end_quiet(live: LiveAlert) -> None:
    """Let an alert sound again."""
    live.quiet_until_s, live.asked_quiet = 0.0, False
    if live.alert.quiet_until_s is not None:
        live.alert = replace(live.alert, quiet_until_s=None)


def seen_as(live: LiveAlert, found: LiveAlert) -> LiveAlert:
    """Return a standing alert as it was told, with what another plan finds of the same trouble."""
    return replace(live, finding=found.finding, seen_s=found.seen_s, unseen=found.unseen, severity_c=found.severity_c)


def brings_about(alert: Alert, finding: Finding[Any], planned_s: float) -> bool:
    """Return whether an alert woke for the very act that a finding tells of, and the firing was not seen to go on.

    ``planned_s`` is when the kiln was last seen to run its plan or to be heated still, or was keyed in anew [s].
    """
    is_act = alert.kind in finding.kind.asked_for_by and finding.kind.is_act(finding.facts)
    if not is_act or alert.woke_s is None or finding.since_s < alert.since_s:
        return False
    if alert.cleared_s is None or planned_s < named_s(alert):
        return True
    return max(finding.since_s, planned_s) <= alert.cleared_s  # a fall may be dated back to one before the stand


def named_s(alert: Alert) -> float:
    """Return since when an alert is a wake under its present name [s]; −∞ for one that never woke."""
    return float("-inf") if alert.woke_s is None else max(alert.woke_s, *(at_s for at_s, _ in alert.named), 0.0)


def is_part(alert: Alert, kind: Kind[Any] | None, whole: Finding[Any]) -> bool:
    """Return whether an alert of ``kind`` told of a part of what ``whole`` tells, and woke nobody."""
    if kind is None or alert.under is not None or alert.woke_s is not None or alert.since_s < whole.since_s:
        return False
    return kind.name in whole.kind.gathers or kind.family in whole.kind.gathers


def is_led_by(alert: Alert, cause: Alert) -> bool:
    """Return whether an alert is listed under ``cause``, and not under an earlier one of its name."""
    return alert.under == cause.kind and (alert.cleared_s is None or alert.cleared_s >= cause.raised_s)


def speaks_for(cause: LiveAlert, finding: Finding[Any], t_s: float) -> bool:
    """Return whether a cause is as loud as its consequence, or still young enough to become so."""
    is_young = t_s - cause.alert.raised_s < cause.finding.kind.rises_within_s
    return is_young or cause.alert.rank.height >= finding.rank.height
