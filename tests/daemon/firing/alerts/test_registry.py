"""The watches of a firing, made from kinds that are drawn up for the test."""

from __future__ import annotations

import pytest

from daemon.firing.alerts.registry import HALTING_KINDS, HEAT_KINDS, KINDS, Watches, may_be_quieted
from daemon.firing.events import Rank, Sample, Text
from daemon.firing.kind import AtBeats, AtReadings, Finding, Kind, Reading, Stage
from daemon.firing.setup import Setup
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.offset import Offset
from daemon.glass.materials import FAMILIES

SETUP = Setup(None, FAMILIES["90"])


def kind(name, watch):
    return Kind(name=name, watch=watch, words=lambda finding, speaker: Text("What.", "Means.", "Do."), examples=(),
                on_delay_s=0.0, off_delay_s=0.0)


def counting(name, stage):
    """Return a kind whose watch finds how many readings it has seen, from the second on."""
    def make(setup):
        seen = []

        def watch(now):
            seen.append(now.sample.t_s)
            return Finding(made, Rank.LOG, 0.0, len(seen)) if len(seen) > 1 else None

        return watch

    made = kind(name, AtReadings(stage, make))
    return made


def reading(t_s):
    return Reading(Sample(t_s, 600.0), Trail(), Offset((), {}, is_owner_sure=True), False)


@pytest.fixture
def watches():
    """Return watches of one kind a stage, two of beats, and two that this firing has no use for."""
    return Watches([
        counting("entry", Stage.ENTRY), counting("temperature", Stage.TEMPERATURE),
        counting("after", Stage.AFTER_BEAT), kind("no-reading", AtReadings(Stage.ENTRY, lambda setup: None)),
        kind("beat", AtBeats(lambda setup: lambda view: None)), kind("no-beat", AtBeats(lambda setup: None)),
        kind("glass", AtBeats(lambda setup: (lambda view: setup.glass) if setup.glass else None)),
    ], SETUP)


def names(kinds):
    return [kind.name for kind in kinds]


def test_each_stage_and_the_beats_have_their_kinds_without_those_of_no_use(watches):
    assert {stage: names(watches.kinds_at(stage)) for stage in Stage} == {
        Stage.ENTRY: ["entry"], Stage.TEMPERATURE: ["temperature"], Stage.AFTER_BEAT: ["after"]}
    assert names(watches.kinds_at_beats) == ["beat", "glass"]


def test_what_a_stage_finds_are_the_findings_of_its_watches(watches):
    assert watches.see_reading(Stage.ENTRY, reading(0.0)) == []
    assert [finding.kind.name for finding in watches.see_reading(Stage.ENTRY, reading(5.0))] == ["entry"]
    assert watches.see_reading(Stage.TEMPERATURE, reading(5.0)) == []
    assert watches.see_beat(None) == [FAMILIES["90"]]  # made with the firing's setup


def test_only_the_watches_of_every_entry_forget(watches):
    for stage in (Stage.ENTRY, Stage.TEMPERATURE):
        watches.see_reading(stage, reading(0.0))
    watches.forget_entries()
    assert watches.see_reading(Stage.ENTRY, reading(5.0)) == []
    assert len(watches.see_reading(Stage.TEMPERATURE, reading(5.0))) == 1


def test_every_kind_has_its_own_name_and_stands_under_kinds_there_are():
    order = names(KINDS)
    assert len(set(order)) == len(order)
    for one in KINDS:
        assert set(one.may_stand_under) <= set(order)


def test_a_kind_that_halts_the_plan_leaves_no_whole_firing():
    halting = {kind.name for kind in KINDS if kind.leaves_no_whole_firing and kind.halts_plan}
    assert halting == HALTING_KINDS == {"firing-stopped"}


def test_what_may_be_quieted_is_said_by_the_kind_and_a_kind_of_another_version_may_be():
    assert [may_be_quieted(kind.name) for kind in KINDS] == [kind.may_be_quieted for kind in KINDS]
    assert not all(kind.may_be_quieted for kind in KINDS)
    assert may_be_quieted("a-kind-of-a-later-version")


def test_only_kinds_that_leave_no_whole_firing_show_that_it_heats_again():
    assert HEAT_KINDS
    assert {kind.name for kind in KINDS if kind.leaves_no_whole_firing and not kind.halts_plan} >= HEAT_KINDS
