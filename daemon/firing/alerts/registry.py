"""The kinds of alert, a line each, and the watches of one firing made from them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from daemon.firing.events import Rank
from daemon.firing.kind import AtBeats, AtReadings, BeatWatch, Finding, Kind, Reading, ReadingWatch, Stage
from daemon.firing.setup import Setup
from daemon.firing.situation.view import View
from daemon.firing.watches import (
    cooling_too_fast,
    firing_stopped,
    haze_range,
    heating_too_fast,
    hold_cut_short,
    hold_off_target,
    hold_overrun,
    not_climbing,
    not_cooling,
    not_started,
    over_temperature,
    reading_flickers,
    reading_frozen,
    readings_missing,
    restarted,
    sensor_fault,
    sudden_drop,
    wrong_plan,
)

KINDS: tuple[Kind[Any], ...] = (
    reading_flickers.KIND,
    reading_frozen.KIND,
    sensor_fault.KIND,
    readings_missing.KIND,
    sudden_drop.KIND,
    wrong_plan.KIND,
    firing_stopped.KIND,
    restarted.KIND,
    not_started.KIND,
    hold_cut_short.KIND,
    hold_overrun.KIND,
    hold_off_target.KIND,
    not_climbing.KIND,
    heating_too_fast.KIND,
    not_cooling.KIND,
    cooling_too_fast.KIND,
    haze_range.KIND,
    over_temperature.KIND,
)
"""Causes before consequences, so that a consequence finds its cause standing; those of one stage are judged in this
order."""
PROBE_KINDS = frozenset(kind.name for kind in KINDS if kind.is_of_probe)
"""The names of the kinds that tell of Lehrling's own probe."""
PERHAPS_PROBE_KINDS = PROBE_KINDS | {kind.name for kind in KINDS if kind.may_be_probe}
"""The names of the kinds after which the probe is looked after before the next firing."""
HALTING_KINDS = frozenset(kind.name for kind in KINDS if kind.halts_plan)
"""The names of the kinds that halt the plan: while an alert of them stands, it does not go on by itself."""
HEAT_KINDS = frozenset(kind.name for kind in KINDS if kind.shows_heat)
"""The names of the kinds that show that the kiln heats."""
RUNAWAY = over_temperature.KIND.name
"""The name of the kind that can destroy the kiln; it sounds in the room."""
RANK_TITLES = {Rank.WAKE: "get up", Rank.LOOK: "look in the morning", Rank.LOG: "noted"}
"""The ranks as people read them."""
_MAY_GO_ON = {kind.name: kind.may_go_on for kind in KINDS}
_LOUD = frozenset(kind.name for kind in KINDS if not kind.may_be_quieted)
_TITLES = {kind.name: kind.title for kind in KINDS if kind.title}


def kind_title(name: str) -> str:
    """Return a kind as people read it, ``cooling too fast``; one that this program does not know, by its name."""
    return _TITLES.get(name) or name.replace("-", " ")


def may_be_quieted(name: str) -> bool:
    """Return whether a quiet spell silences alerts of a kind; one that this program does not know may be."""
    return name not in _LOUD


def may_go_on(name: str) -> str:
    """Return what may still be so where an alert of a kind has ended unseen; empty where its end is an end."""
    return _MAY_GO_ON.get(name, "")


class Watches:
    """The watches of one firing.

    Parameters
    ----------
    kinds
        The kinds to watch for, causes before consequences.
    setup
        The firing.
    """

    def __init__(self, kinds: Sequence[Kind[Any]], setup: Setup) -> None:
        self._setup = setup
        self._kinds = tuple(kinds)
        self._at_stage: dict[Stage, tuple[ReadingWatch, ...]] = {}
        beats = [(kind, watch) for kind in self._kinds
                 if isinstance(kind.watch, AtBeats) and (watch := kind.watch.make(setup)) is not None]
        self._at_beats: tuple[BeatWatch, ...] = tuple(watch for _, watch in beats)
        self.kinds_at_beats = tuple(kind for kind, _ in beats)
        """The kinds whose watches see every beat."""
        self._kinds_at: dict[Stage, tuple[Kind[Any], ...]] = {}
        for stage in Stage:
            self._make(stage)

    def kinds_at(self, stage: Stage) -> tuple[Kind[Any], ...]:
        """Return the kinds whose watches see the readings at ``stage``."""
        return self._kinds_at[stage]

    def see_reading(self, stage: Stage, now: Reading) -> list[Finding[Any]]:
        """Return what the watches of ``stage`` find at a reading."""
        found: list[Finding[Any]] = []
        for watch in self._at_stage[stage]:
            finding = watch(now)
            if finding is not None:
                found.append(finding)
        return found

    def see_beat(self, view: View) -> list[Finding[Any]]:
        """Return what the watches find at a beat."""
        return [finding for watch in self._at_beats if (finding := watch(view)) is not None]

    def forget_entries(self) -> None:
        """Make the watches of Stage.ENTRY anew: what they saw while the probe was out says nothing of the kiln."""
        self._make(Stage.ENTRY)

    def _make(self, stage: Stage) -> None:
        """Make the watches of one stage anew."""
        made = [(kind, kind.watch.make(self._setup)) for kind in self._kinds
                if isinstance(kind.watch, AtReadings) and kind.watch.stage is stage]
        self._at_stage[stage] = tuple(watch for _, watch in made if watch is not None)
        self._kinds_at[stage] = tuple(kind for kind, watch in made if watch is not None)
