"""The decision (daemon/firing/step.py) for one firing; numbers its alerts as the file does, and stops at no error."""

from __future__ import annotations

import logging
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from daemon.firing.events import Alert, AlertChanged, Event, Line, Part, Said, Sample
from daemon.firing.evidence import parts_seen
from daemon.firing.plan.plan import Plan, Unit
from daemon.firing.report import report
from daemon.firing.setup import Setup
from daemon.firing.state import State
from daemon.firing.status import Standing, standing
from daemon.firing.step import begin, begin_keyed_in, step
from daemon.firing.verdict.glass_verdict import glass_json
from daemon.firing.verdict.slowing import Slowing

LOG = logging.getLogger(__name__)


class Judge:
    """Steps through the entries of a firing.

    Parameters
    ----------
    setup
        Plan and load.
    alert_base
        Alerts up to this number were raised under an earlier plan; those found here follow it.
    """

    def __init__(self, setup: Setup, alert_base: int = 0) -> None:
        self.setup = setup
        self.alert_base = alert_base
        self.stopped = False
        self._state = begin(setup)

    @property
    def state(self) -> State | None:
        """Return what the decision remembers, for a checkpoint; None where it has failed."""
        return None if self.stopped else self._state

    def go_on_from(self, state: State) -> None:
        """Go on from what a decision of the same setup remembered, instead of from the beginning."""
        self._state = state

    def go_on_from_record(self, record: Sequence[Alert], sounded_s: Mapping[int, float],
                          t_s: float) -> list[AlertChanged] | None:
        """Take the alerts of the record in place of those found by judging its entries anew.

        Parameters
        ----------
        record
            Every alert that is stored of the firing.
        sounded_s
            When each was last told [s], by its number.
        t_s
            The present [s of firing].

        Returns
        -------
        list or None
            The end of each alert of a kind that this program does not know any more. None where both are the same.
        """
        if self.stopped:
            return None
        base = self.alert_base
        mine = [replace(alert, no=alert.no - base) for alert in record if alert.no > base]
        changes = self._state.board.go_on_from_record(mine, {no - base: s for no, s in sounded_s.items()}, t_s)
        return None if changes is None else [
            replace(change, alert=self._numbered(change.alert)) for change in changes]

    @property
    def trouble(self) -> list[str]:
        """Return a sentence for the maker where the decision has failed; the readings are kept on."""
        if not self.stopped:
            return []
        return ["Lehrling can't judge this firing any more, by a fault of its own; readings are still kept."
                " Read the kiln's own display, and look after it yourself."]

    def take(self, entry: Sample | Said) -> tuple[Event, ...]:
        """Take the next entry in time order and return what it brought about."""
        if self.stopped:
            return ()
        if isinstance(entry, Said) and entry.alert_no is not None:
            if entry.alert_no <= self.alert_base:
                return ()  # it was about an alert of an earlier plan
            entry = entry._replace(alert_no=entry.alert_no - self.alert_base)
        try:
            self._state, events = step(self._state, entry)
        except Exception:
            # The trace is worth keeping even when this program has a fault.
            LOG.exception("The decision failed at second %.0f of the firing.", entry.t_s)
            self.stopped = True
            return ()
        if not self.alert_base:
            return events
        return tuple(replace(event, alert=self._numbered(event.alert)) if isinstance(event, AlertChanged)
                     else event for event in events)

    @property
    def alerts(self) -> tuple[Alert, ...]:
        """Return every alert of the firing so far, numbered as in the file; none where the decision has failed."""
        if self.stopped:
            return ()
        return tuple(self._numbered(alert) for alert in self._state.board.alerts)

    def standing(self, slows: Slowing | None = None) -> Standing | None:
        """Return where the firing stands; None where the decision has failed.

        ``slows`` is how this kiln's last fall becomes slower, where past firings have shown it.
        """
        if self.stopped:
            return None
        try:
            found = standing(self._state, slows)
        except Exception:
            LOG.exception("The decision could not say where the firing stands.")
            self.stopped = True
            return None
        if not self.alert_base:
            return found
        return replace(found, alerts=tuple(self._numbered(alert) for alert in found.alerts))

    def judgement(self) -> dict[str, Any] | None:
        """Return the judgement of the firing so far as plain values; None where the decision has failed.

        ``verdict`` holds the answers with their kinds, results and words in the owner's ``unit``, ``other_unit``
        the same in the other one; ``glass`` the figures of the thickest slab, ``peak_c``, ``peak_s``, ``offset_c``
        and ``finished`` what else the decision knows.
        """
        if self.stopped:
            return None
        try:
            found = report(self._state, [], ())
        except Exception:
            LOG.exception("The decision could not say what the firing came to.")
            return None
        other = "C" if self.setup.unit == "F" else "F"
        return {
            "peak_c": found.peak_c, "peak_s": found.peak_s, "offset_c": found.offset_k,
            "finished": found.finished, "unit": self.setup.unit, "verdict": found.verdict_json(),
            "other_unit": {"unit": other, "verdict": found.verdict_json(other)},
            "glass": glass_json(found.setup.glass, found.suffered, found.glass_lost),
        }

    def keyed_in(self, lines: Sequence[Line], unit: Unit, title: str, now_s: float) -> Plan | None:
        """Return the plan of the firing from lines keyed in at ``now_s`` [s]; None where it has none to leave."""
        return None if self.stopped else self._state.keyed_in(lines, unit, title, now_s)

    def by_lines(self, setup: Setup, taken: Sequence[Sample | Said]) -> Judge:
        """Return the judge that goes on by the plan of ``setup``, made of lines that are being keyed in.

        Parameters
        ----------
        setup
            With that plan; its ``left`` ends with the present one.
        taken
            All entries so far.
        """
        judge = Judge(setup, self.alert_base)
        try:
            judge.go_on_from(begin_keyed_in(setup, self._state, taken))
        except Exception:
            LOG.exception("The decision failed by the lines that were keyed in.")
            judge.stopped = True
        return judge

    def parts(self) -> tuple[Part, ...]:
        """Return the parts as the firing shows them if it ends here; none where the decision has failed."""
        return () if self.stopped else parts_seen(self._state)

    def _numbered(self, alert: Alert) -> Alert:
        """Return the alert with the number it has in the file, where alerts of an earlier plan come first."""
        return replace(alert, no=alert.no + self.alert_base)
