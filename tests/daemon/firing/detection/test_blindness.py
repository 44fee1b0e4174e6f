"""Blindness, entry by entry, and which of sensor-fault and readings-missing tells it."""

from __future__ import annotations

import pytest

from daemon.firing.detection.blindness import LOOK_AFTER_S, WAKE_AFTER_S, Blindness, is_coded_zero
from daemon.firing.events import Rank, Sample
from daemon.firing.kind import Reading
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.offset import Offset
from daemon.firing.watches import readings_missing, sensor_fault


def see(watch: Blindness, *samples: Sample, dangerous: bool = False):
    """Return what the one or the other kind finds at each entry."""
    offset = Offset((), {}, is_owner_sure=False)
    seen = [Reading(sample, Trail(), offset, dangerous, watch.see(sample)) for sample in samples]
    both = [(sensor_fault.sensor_fault(now, brittle_c=540.0), readings_missing.readings_missing(now)) for now in seen]
    assert not any(fault and missing for fault, missing in both)
    return [fault or missing for fault, missing in both]


def well(*times: float) -> list[Sample]:
    return [Sample(float(t), 700.0) for t in times]


def blind(fault: str | None, *times: float) -> list[Sample]:
    return [Sample(float(t), None, fault) for t in times]


@pytest.mark.parametrize(("fault", "kind"), [("open", "sensor-fault"), ("short", "sensor-fault"),
                                             ("range", "sensor-fault"), ("silent", "readings-missing"),
                                             (None, "readings-missing")])
def test_blindness_is_told_by_its_kind_after_half_a_minute(fault, kind):
    watch = Blindness()
    see(watch, *well(0, 5, 10))
    found = see(watch, *blind(fault, *range(15, 80, 5)))
    told = [f for f in found if f is not None]
    assert {f.kind.name for f in told} == {kind}
    assert {f.rank for f in told} == {Rank.LOOK}
    assert {f.since_s for f in told} == {15.0}
    assert [f.facts.blind_s for f in told] == [LOOK_AFTER_S + 5.0 * i for i in range(7)]
    assert told[0].facts.last_c == 700.0


def test_it_wakes_only_where_blindness_is_dangerous():
    for dangerous, rank in ((True, Rank.WAKE), (False, Rank.LOOK)):
        watch = Blindness()
        see(watch, *well(0, 5, 10))
        found = see(watch, *blind("open", *range(15, 400, 5)), dangerous=dangerous)
        assert found[-1].rank is rank
    ranks = [f.rank for f in see(watch, *blind("open", *range(400, 410, 5)), dangerous=True)]
    assert ranks == [Rank.WAKE, Rank.WAKE]  # long blind, and now it matters
    assert WAKE_AFTER_S <= 300.0


def test_a_broken_wire_that_also_goes_silent_is_a_broken_wire():
    watch = Blindness()
    see(watch, *well(0, 5))
    see(watch, *blind("silent", *range(10, 60, 5)))
    found = see(watch, *blind("open", 60, 65), *blind("silent", 70, 75))
    assert {f.kind for f in found} == {sensor_fault.KIND}
    assert {f.since_s for f in found} == {10.0}


def test_one_good_reading_ends_it_and_the_count_begins_again():
    watch = Blindness()
    see(watch, *well(0, 5), *blind("open", *range(10, 60, 5)))
    assert see(watch, *well(60)) == [None]
    assert see(watch, *blind("open", *range(65, 90, 5))) == [None] * 5


def test_blind_from_the_first_reading_is_told_without_a_last_temperature():
    found = see(Blindness(), *blind("open", *range(0, 60, 5)))
    assert found[-1].kind is sensor_fault.KIND
    assert found[-1].facts.last_c is None


@pytest.mark.parametrize(("step_s", "hole_s", "is_told"), [
    (5, 25, False), (5, 40, True), (1, 25, False), (1, 40, True), (60, 170, False), (60, 200, True),
    (300, 800, False), (300, 1000, True),
])
def test_rows_are_missing_after_three_steps_and_half_a_minute(step_s, hole_s, is_told):
    watch = Blindness()
    assert see(watch, *well(*range(0, 20 * step_s, step_s))) == [None] * 20
    last_s = 19.0 * step_s
    found, = see(watch, *well(last_s + hole_s))
    assert (found is not None) == is_told
    if found:
        assert (found.kind, found.rank, found.since_s) == (readings_missing.KIND, Rank.LOOK, last_s)
        assert found.facts.blind_s == hole_s


def test_every_hole_of_a_bad_night_is_told():
    watch = Blindness()
    see(watch, *well(*range(0, 100, 5)))
    for start in (1000, 3000, 5000):
        assert see(watch, *well(start))[0] is not None
        assert see(watch, *well(*range(start + 5, start + 100, 5))) == [None] * 19


def test_a_logger_that_is_set_slower_is_believed_after_a_while():
    watch = Blindness()
    see(watch, *well(*range(0, 100, 5)))
    found = see(watch, *well(*range(160, 160 + 40 * 60, 60)))
    assert found[0] is not None
    assert found[-1] is None


def test_a_probe_that_reads_colder_than_any_studio_has_its_leads_swapped():
    told = see(Blindness(), *(Sample(5.0 * i, 19.0 - 0.1 * i) for i in range(400)))
    first = next(found for found in told if found is not None)
    assert (first.kind, first.rank) == (sensor_fault.KIND, Rank.LOOK)
    # 15 °C less 12 K is passed at the 161st reading, and has to last a minute.
    assert told.index(first) * 5.0 == 160 * 5.0 + 60.0
    assert all(found is not None for found in told[told.index(first):])


@pytest.mark.parametrize(("from_c", "to_c"), [(45.0, 6.0), (4.0, -6.0), (600.0, 12.0)])
def test_a_cold_studio_is_no_swapped_lead(from_c, to_c):
    readings = [Sample(60.0 * i, max(to_c, from_c - 1.0 * i)) for i in range(700)]
    assert see(Blindness(), *readings) == [None] * 700


@pytest.mark.parametrize(("temp_c", "last_c", "coded"), [
    (0.0, 700.0, True), (0.0, 61.0, True),
    (0.0, 20.0, False),   # an unheated studio in winter
    (0.0, None, False), (0.1, 700.0, False), (None, 700.0, False),
])
def test_exactly_zero_after_a_warm_reading_is_no_temperature(temp_c, last_c, coded):
    assert is_coded_zero(temp_c, last_c) is coded
