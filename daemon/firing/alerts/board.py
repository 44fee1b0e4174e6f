"""The life of alerts: raised, acknowledged, over, in either order (after ISA-18.2 / IEC 62682, kept small).

=====================  ==================================================================================
what happens           what becomes of the alert
=====================  ==================================================================================
seen for on_delay      raised at the rank it is seen with, as a look until it was seen for as long as a wake; a
                       consequence of a standing one goes under it, and began no sooner; or it is not raised,
                       while its cause covers such looks
seen at a higher rank  its rank rises, to a wake after on_delay; reaching it says woke, and quiet ends; a
                       consequence does so only where its cause has been over for a while, or is long known
                       and quieter; never where it is what a wake had asked for, or follows from that, as long
                       as the kiln does not run its plan again
seen by another name   keeps its number, takes the sharper name, remembers the old one; it makes no sound again,
                       but a runaway is never quiet, and ends with its own finding
unseen for off_delay   over
acknowledged           quiet until its time to act runs out, at most LONGEST_QUIET_S, or for
                       ACKNOWLEDGED_QUIET_S where that is not known, unless its rank rises or it gets
                       WORSE_C worse
a whole is told        the looks that told of its parts stand under it, also those that are over
own display watched    what tells of the sensor is quiet for the rest of the firing
quieted                quiet for as long as asked, at most LONGEST_QUIET_S, and no longer than the firing's
                       phase; a runaway is never quiet
a wake not quiet       sounds again every RESOUND_S while it is seen or nothing is; a runaway every
                       RUNAWAY_RESOUND_S
its words              are those of the present wherever it is shown or sounds; the record keeps what
                       was said when
seen again soon        what was told at this rank within its re-sound time is raised in silence; a wake
                       that still stands then sounds
a flood                after FLOOD_MOST told steps in FLOOD_S a look only stands on the page; a wake
                       always sounds
the probe is out       all are over, in silence; nothing is judged until it is back
lines are keyed in     what the new plan finds as well goes on as it was told; the rest is over, in silence
judged anew            the record decides which alerts there are and which are over (see as_told.py)
=====================  ==================================================================================
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from daemon.firing.alerts.as_told import is_as_told, standing_as_told
from daemon.firing.alerts.live_alert import (
    LiveAlert,
    end_quiet,
    is_led_by,
    is_part,
    is_the_same,
    knows,
    make_quiet,
    seen_as,
)
from daemon.firing.alerts.on_delay import OnDelay
from daemon.firing.alerts.telling import REST_OF_FIRING_S, Telling
from daemon.firing.alerts.told_alerts import ToldAlerts
from daemon.firing.events import LONGEST_QUIET_S, Alert, AlertChanged, Rank, Said, Saying, Text
from daemon.firing.kind import Finding, Kind
from daemon.firing.situation.view import Phase

ACKNOWLEDGED_QUIET_S = 600.0
"""An alert that was acknowledged is quiet for so long [s], where it is not known how long there is to act.
[chosen: long enough to act, and not forgotten]"""
LEAST_QUIET_S = 120.0
"""And for so long at least, however little time there is [s]. [chosen: the way to the kiln]"""
WORSE_C = 10.0
"""An acknowledged alert that is so much worse than when it was last heard sounds in its quiet [K].
[chosen: told from wander and noise, and early]"""


class Board:
    """All alerts of one firing; takes findings, gives changes.

    Parameters
    ----------
    kinds
        Every kind that may be found.
    words
        Puts a finding into words.
    """

    def __init__(self, kinds: Iterable[Kind[Any]], words: Callable[[Finding[Any]], Text]) -> None:
        self._alerts = ToldAlerts(kinds)
        self._words = words
        self._on_delay = OnDelay()
        self._count = 0
        self._phase: Phase | None = None
        self._telling = Telling()

    @property
    def alerts(self) -> tuple[Alert, ...]:
        """Return every alert of the firing, first raised first, with the words it was last told in."""
        return self._alerts.all

    @property
    def present(self) -> tuple[Alert, ...]:
        """Return every alert of the firing, first raised first, those that stand in the words of the present."""
        now = [replace(live.alert, text=self._text_of(live),
                       seen_s=live.seen_s if live.unseen else None) for live in self._alerts.live.values()]
        return tuple(sorted([*self._alerts.over, *now], key=lambda a: a.no))

    @property
    def is_own_display_watched(self) -> bool:
        """Return whether the maker watches the kiln's own display, so that a blind Lehrling rings nobody."""
        return self._telling.is_own_display_watched

    @property
    def is_idle(self) -> bool:
        """Return whether no alert stands and none is about to: without a finding there is nothing to judge."""
        return not (self._alerts.live or self._on_delay.waiting)

    def stands(self, kind: str) -> bool:
        """Return whether an alert of a kind stands."""
        return kind in self._alerts.live

    def text_now(self, no: int) -> Text | None:
        """Return how a standing alert would be told now; None where it is over."""
        return next((self._text_of(live) for live in self._alerts.live.values() if live.alert.no == no), None)

    def _text_of(self, live: LiveAlert) -> Text:
        """Return the words of a standing alert as of when it was last seen, with whether it still is."""
        finding = live.finding
        if finding.facts is None:
            return live.alert.text
        if live.unseen:
            finding = replace(finding, facts=finding.kind.once_unseen(finding.facts))
        return self._text(finding, live.seen_s)

    def _text(self, finding: Finding[Any], t_s: float) -> Text:
        """Return the words of a finding as of ``t_s`` [s], with until when there is to act."""
        text = self._words(finding)
        if text.time_left_s is None:
            return text
        before_s = t_s + text.time_left_s
        return replace(text, before_s=before_s,
                       other=None if text.other is None else replace(text.other, before_s=before_s))

    def judge(self, t_s: float, findings: Sequence[Finding[Any]], judged: Iterable[Kind[Any]]) -> list[AlertChanged]:
        """Take what the watches see at ``t_s``; kinds in ``judged`` without a finding are not seen."""
        if not findings and self.is_idle:
            return []
        changes: list[AlertChanged] = []
        seen = {finding.kind.name: self._on_delay.as_lasting(finding, t_s) for finding in findings}
        for kind in judged:
            finding = seen.get(kind.name)
            if finding is None:
                self._on_delay.forget(kind.name)
                self._unseen(kind, t_s, changes)
            elif kind.name in self._alerts.live:
                self._again(self._alerts.live[kind.name], finding, t_s, changes)
            elif kind.is_past_event and finding.since_s < self._alerts.keyed_in_s:
                pass  # it was for the plan before to tell
            elif self._on_delay.is_over(finding, t_s):
                self._raise(finding, t_s, changes)
        for live in self._alerts.live.values():
            self._sound_again(live, t_s, changes)
        return changes

    def enter(self, phase: Phase) -> None:
        """Take notice of the phase the firing is in; a quiet that was asked for ends with the one before."""
        if phase == self._phase:
            return
        self._phase = phase
        for live in self._alerts.live.values():
            if live.asked_quiet:
                end_quiet(live)

    def see_plan_run(self, t_s: float) -> None:
        """Take notice that the kiln is heated as by a program: whoever was told to end the firing did not."""
        self._alerts.planned_s = t_s

    @property
    def told_to_end_s(self) -> float:
        """Return when the maker was last told to end the firing [s]; −∞ where never."""
        return self._alerts.told_to_end_s

    def lay_down(self, t_s: float) -> list[AlertChanged]:
        """End all alerts in silence: the probe is out, and nothing says any more how they stand."""
        changes = [self._end_silently(live, t_s) for live in self._alerts.live.values()]
        self._on_delay.clear()
        self._alerts.live.clear()
        return changes

    def _end_silently(self, live: LiveAlert, t_s: float) -> AlertChanged:
        """Count an alert among those that are over, and return the step, which is not sent."""
        live.alert = replace(live.alert, cleared_s=t_s, quiet_until_s=None)
        self._alerts.over.append(live.alert)
        return AlertChanged(t_s, "over", live.alert, live.alert.rank, silent=True)

    def take_over(self, told: Board, t_s: float) -> list[AlertChanged]:
        """Go on with the alerts of the plan before, and forget what this board made of the same past.

        Parameters
        ----------
        told
            The board of the plan before. It is used up.
        t_s
            When the lines of this plan were keyed in [s].

        Returns
        -------
        list
            The end of each alert that stands and is not found by this plan.
        """
        found, self._alerts.live = self._alerts.live, {}
        both = found.keys() | self._on_delay.waiting
        self._on_delay = told._on_delay.of(both)
        self._alerts.over, self._alerts.keyed_in_s = told._alerts.over, t_s
        self._count, self._telling = told._count, told._telling
        changes: list[AlertChanged] = []
        for kind, live in told._alerts.live.items():
            if kind in both:
                self._alerts.live[kind] = live if kind not in found else seen_as(live, found[kind])
            else:
                changes.append(self._end_silently(live, t_s))
        return changes

    def go_on_from_record(self, record: Sequence[Alert], sounded_s: Mapping[int, float],
                          t_s: float) -> list[AlertChanged] | None:
        """Go on with the alerts of the record, in place of what judging stored readings anew has made of them.

        Parameters
        ----------
        record
            Every alert that is stored, numbered as this board numbers its own.
        sounded_s
            When each that stands was last told [s], by its number.
        t_s
            The present [s of firing].

        Returns
        -------
        list or None
            The end of each alert of a kind that this program does not know any more. None where both are the same.
        """
        if is_as_told(self.alerts, record):
            return None
        found, self._alerts.live = self._alerts.live, {}
        unknown = [replace(alert, cleared_s=t_s) for alert in record
                   if alert.cleared_s is None and alert.kind not in self._alerts.kinds]
        self._alerts.over = [*(alert for alert in record if alert.cleared_s is not None), *unknown]
        self._count = max((alert.no for alert in record), default=0)
        self._telling.forget_all_but({alert.kind for alert in record})
        for alert in record:
            if alert.cleared_s is None and alert.kind in self._alerts.kinds:
                self._on_delay.told(alert.kind)
                live = standing_as_told(alert, found.get(alert.kind), self._alerts.kinds[alert.kind],
                                        sounded_s.get(alert.no, alert.raised_s), t_s)
                self._alerts.live[alert.kind] = live
                if alert.acknowledged_s is not None and not live.quiet_until_s:
                    make_quiet(live, self._up_until_s(live, alert.acknowledged_s))
        return [AlertChanged(t_s, "over", alert, alert.rank, silent=True) for alert in unknown]

    def hear(self, said: Said) -> list[AlertChanged]:
        """Take an acknowledgement, a quiet spell, or that the kiln's own display is watched or no longer is."""
        changes: list[AlertChanged] = []
        if said.what in (Saying.OWN_DISPLAY, Saying.OWN_DISPLAY_OFF):
            self._hear_of_display(said, changes)
            return changes
        for live in self._alerts.live.values():
            if said.alert_no not in (None, live.alert.no):
                continue
            if said.what is Saying.ACKNOWLEDGE:
                live.alert = replace(live.alert, acknowledged_s=said.t_s)
                make_quiet(live, self._up_until_s(live, said.t_s))
                changes.append(AlertChanged(said.t_s, "acknowledged", live.alert, live.alert.rank))
            elif said.what is Saying.QUIET and live.finding.kind.may_be_quieted:
                make_quiet(live, said.t_s + min(said.for_s or LONGEST_QUIET_S, LONGEST_QUIET_S))
                live.asked_quiet = True
                changes.append(AlertChanged(said.t_s, "quieted", live.alert, live.alert.rank))
        return changes

    def _up_until_s(self, live: LiveAlert, t_s: float) -> float:
        """Return until when an alert leaves in peace who is up at ``t_s`` [s]: while there is time to act."""
        text = live.alert.text if live.finding.facts is None else self._text(live.finding, live.seen_s)
        before_s = text.before_s
        if before_s is None:
            return t_s + ACKNOWLEDGED_QUIET_S
        return t_s + min(max(before_s - t_s, LEAST_QUIET_S), LONGEST_QUIET_S)

    def _hear_of_display(self, said: Said, changes: list[AlertChanged]) -> None:
        """Silence what tells of the sensor for the rest of the firing, or let it sound again."""
        self._telling.is_own_display_watched = said.what is Saying.OWN_DISPLAY
        for live in self._alerts.live.values():
            if live.finding.kind.is_of_probe:
                if self._telling.is_own_display_watched:
                    live.alert = replace(live.alert, acknowledged_s=said.t_s)
                    make_quiet(live, said.t_s + REST_OF_FIRING_S)
                else:
                    end_quiet(live)
                changes.append(AlertChanged(said.t_s, "quieted", live.alert, live.alert.rank))

    def _raise(self, finding: Finding[Any], t_s: float, changes: list[AlertChanged]) -> None:
        """Make an alert of a finding whose on-delay is over, unless one that stands or is over told of it already."""
        known = next((live for live in self._alerts.live.values() if knows(live.alert, finding, t_s)), None)
        if known is not None:
            if self._alerts.kinds[known.alert.kind].may_be_quieted:  # a runaway sounds on, so for itself only
                known.seen_s, known.unseen = t_s, False  # the same trouble under its first, vaguer name
            return
        vaguer = self._alerts.vaguer(finding, t_s)
        if vaguer is not None:
            self._sharpen(vaguer, finding, t_s, changes)
            return
        if any(is_the_same(alert, finding) for alert in self._alerts.over):
            return
        under = self._alerts.cause(finding, t_s)
        if under is not None and self._alerts.kinds[under].covers_looks and finding.rank is not Rank.WAKE:
            return
        since_s = max(finding.since_s, self._alerts.since_s(under))
        self._count += 1
        rank = finding.rank if under is None else min(finding.rank, Rank.LOOK, key=lambda r: r.height)
        alert = Alert(no=self._count, kind=finding.kind.name, rank=rank, since_s=since_s, raised_s=t_s,
                      text=self._text(finding, t_s), woke_s=t_s if rank is Rank.WAKE else None,
                      step=finding.step, under=under)
        live = LiveAlert(alert, finding, t_s, t_s, finding.severity_c, finding.severity_c)
        self._alerts.live[finding.kind.name] = live
        changes.append(self._telling.step(t_s, "raised", live, None))
        self._gather(finding, t_s, changes)

    def _gather(self, finding: Finding[Any], t_s: float, changes: list[AlertChanged]) -> None:
        """List what told of single parts of a finding before under its alert, though it may be over.

        Weighed: to give the first of them the new name. But it has ended and people were told so; an end that is
        taken back would have to be told again.
        """
        kind = finding.kind
        if kind.gathers and finding.rank is not Rank.LOG and kind.may_replace_now(finding.facts):
            kinds = self._alerts.kinds
            changes += self._alerts.list_under(
                kind.name, lambda alert: is_part(alert, kinds.get(alert.kind), finding), t_s)

    def _sharpen(self, live: LiveAlert, finding: Finding[Any], t_s: float, changes: list[AlertChanged]) -> None:
        """Give a standing alert the name and words of a finding that tells its trouble better.

        Its number stays, and alerts under its old name stand under the new one.
        """
        old = live.alert
        is_explained = old.under is not None and self._alerts.explains(old.under, finding)
        under = old.under if is_explained else self._alerts.asks_for(finding)
        rank = old.rank if under else max(old.rank, finding.rank, key=lambda r: r.height)
        woke = old.woke_s if old.woke_s is not None else (t_s if rank is Rank.WAKE else None)
        live.alert = replace(old, kind=finding.kind.name, rank=rank, woke_s=woke, text=self._text(finding, t_s),
                             under=under, step=finding.step or old.step, since_s=min(old.since_s, finding.since_s),
                             named=(*old.named, (t_s, old.kind)))
        live.finding, live.seen_s, live.unseen = finding, t_s, False
        del self._alerts.live[old.kind]
        self._alerts.live[finding.kind.name] = live
        if rank is not old.rank:
            live.sounded_s = t_s
        if rank is not old.rank or self._alerts.kinds[old.kind].is_of_probe or not finding.kind.may_be_quieted:
            end_quiet(live)
        woken = rank is not old.rank and rank is Rank.WAKE
        changes.append(self._telling.step(t_s, "woke" if woken else "sharpened", live, old.rank))
        self._gather(finding, t_s, changes)
        changes += self._alerts.list_under(finding.kind.name, lambda alert: is_led_by(alert, old), t_s)

    def _again(self, live: LiveAlert, finding: Finding[Any], t_s: float, changes: list[AlertChanged]) -> None:
        """Take a finding whose alert stands; a higher rank than before is told."""
        live.finding, live.seen_s, live.unseen = finding, t_s, False
        live.severity_c = finding.severity_c
        old = live.alert
        if finding.rank.height <= old.rank.height or self._alerts.spoken_for(live, finding, t_s):
            return
        woke = t_s if finding.rank is Rank.WAKE else None
        live.alert = replace(old, rank=finding.rank, woke_s=woke, text=self._text(finding, t_s), under=None)
        live.sounded_s = t_s
        end_quiet(live)
        changes.append(self._telling.step(t_s, "woke" if woke is not None else "sharpened", live, old.rank))
        self._gather(finding, t_s, changes)

    def _unseen(self, kind: Kind[Any], t_s: float, changes: list[AlertChanged]) -> None:
        """Note that a kind was looked for and not found; after its off-delay its alert is over."""
        live = self._alerts.live.get(kind.name)
        if live is None or live.seen_s == t_s:
            return
        live.unseen = True
        if t_s - live.seen_s < kind.off_delay_s:
            return
        live.alert = replace(live.alert, cleared_s=t_s, quiet_until_s=None)
        self._alerts.over.append(live.alert)
        del self._alerts.live[kind.name]
        changes.append(self._telling.over(t_s, live))

    def _sound_again(self, live: LiveAlert, t_s: float, changes: list[AlertChanged]) -> None:
        """Sound a wake that is due again, or that got worse in the quiet of its acknowledgement."""
        if 0.0 < live.quiet_until_s <= t_s:
            end_quiet(live)
        if live.alert.rank is not Rank.WAKE or live.unseen:
            return
        worse = live.severity_c - live.heard_severity_c >= WORSE_C and live.alert.acknowledged_s is not None
        due = t_s - live.sounded_s >= live.finding.kind.resound_s
        if (due and t_s >= live.quiet_until_s) or (worse and t_s < live.quiet_until_s):
            live.sounded_s = t_s
            live.heard_severity_c = live.severity_c
            # The message says how it stands now; the alert keeps the words that woke for the record.
            now = replace(live.alert, text=self._text(live.finding, live.seen_s))
            self._telling.sounded(t_s, live)
            changes.append(AlertChanged(t_s, "resounded", now, live.alert.rank))
