"""The watches that see every reading, one reading at a time."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank, Sample
from daemon.firing.watches.over_temperature import (
    KNOWN_MARGIN_C,
    UNKNOWN_FOR_S,
    UNKNOWN_MARGIN_C,
    OverTemperatureWatch,
)
from daemon.firing.watches.sensor_fault import LOOK_AFTER_S, WAKE_AFTER_S, SensorWatch


def see(watch: SensorWatch, *samples: Sample, dangerous: bool = False):
    """Return what the watch says to each sample."""
    return [watch.see(sample, dangerous=dangerous) for sample in samples]


def well(*times: float) -> list[Sample]:
    return [Sample(float(t), 700.0) for t in times]


def blind(fault: str | None, *times: float) -> list[Sample]:
    return [Sample(float(t), None, fault) for t in times]


# --- blindness -----------------------------------------------------------------------------------


@pytest.mark.parametrize(("fault", "kind"), [("open", "sensor-fault"), ("short", "sensor-fault"),
                                             ("range", "sensor-fault"), ("silent", "readings-missing"),
                                             (None, "readings-missing")])
def test_blindness_is_told_by_its_kind_after_half_a_minute(fault, kind):
    watch = SensorWatch()
    see(watch, *well(0, 5, 10))
    found = see(watch, *blind(fault, *range(15, 80, 5)))
    told = [f for f in found if f is not None]
    assert {f.kind for f in told} == {kind}
    assert {f.rank for f in told} == {Rank.LOOK}
    assert {f.since_s for f in told} == {15.0}
    assert 15.0 + told[0].facts["blind_s"] <= 15.0 + 60.0
    assert told[0].facts["blind_s"] >= LOOK_AFTER_S
    assert told[0].facts["last_c"] == 700.0


def test_it_wakes_only_where_blindness_is_dangerous():
    for dangerous, rank in ((True, Rank.WAKE), (False, Rank.LOOK)):
        watch = SensorWatch()
        see(watch, *well(0, 5, 10))
        found = see(watch, *blind("open", *range(15, 400, 5)), dangerous=dangerous)
        assert found[-1].rank is rank
    ranks = [f.rank for f in see(watch, *blind("open", *range(400, 410, 5)), dangerous=True)]
    assert ranks == [Rank.WAKE, Rank.WAKE]  # long blind, and now it matters
    assert WAKE_AFTER_S <= 300.0


def test_a_broken_wire_that_also_goes_silent_is_a_broken_wire():
    watch = SensorWatch()
    see(watch, *well(0, 5))
    see(watch, *blind("silent", *range(10, 60, 5)))
    found = see(watch, *blind("open", 60, 65), *blind("silent", 70, 75))
    assert {f.kind for f in found} == {"sensor-fault"}
    assert {f.since_s for f in found} == {10.0}


def test_one_good_reading_ends_it_and_the_count_begins_again():
    watch = SensorWatch()
    see(watch, *well(0, 5), *blind("open", *range(10, 60, 5)))
    assert see(watch, *well(60)) == [None]
    assert see(watch, *blind("open", *range(65, 90, 5))) == [None] * 5


def test_blind_from_the_first_reading_is_told_without_a_last_temperature():
    found = see(SensorWatch(), *blind("open", *range(0, 60, 5)))
    assert found[-1].kind == "sensor-fault"
    assert "last_c" not in found[-1].facts


@pytest.mark.parametrize(("step_s", "hole_s", "is_told"), [
    (5, 25, False), (5, 40, True), (1, 25, False), (1, 40, True), (60, 170, False), (60, 200, True),
    (300, 800, False), (300, 1000, True),
])
def test_rows_are_missing_after_three_steps_and_half_a_minute(step_s, hole_s, is_told):
    watch = SensorWatch()
    assert see(watch, *well(*range(0, 20 * step_s, step_s))) == [None] * 20
    last_s = 19.0 * step_s
    found, = see(watch, *well(last_s + hole_s))
    assert (found is not None) == is_told
    if found:
        assert (found.kind, found.rank, found.since_s) == ("readings-missing", Rank.LOOK, last_s)
        assert found.facts["blind_s"] == hole_s


def test_every_hole_of_a_bad_night_is_told():
    watch = SensorWatch()
    see(watch, *well(*range(0, 100, 5)))
    for start in (1000, 3000, 5000):
        assert see(watch, *well(start))[0] is not None
        assert see(watch, *well(*range(start + 5, start + 100, 5))) == [None] * 19


def test_a_logger_that_is_set_slower_is_believed_after_a_while():
    watch = SensorWatch()
    see(watch, *well(*range(0, 100, 5)))
    found = see(watch, *well(*range(160, 160 + 40 * 60, 60)))
    assert found[0] is not None
    assert found[-1] is None


# --- too hot -------------------------------------------------------------------------------------


def first_told(watch: OverTemperatureWatch, temps: list[float], offset_c: float = 0.0, *, known: bool) -> int | None:
    """Return at which second the watch first speaks, given a reading every 5 s; None if it never does."""
    for number, temp_c in enumerate(temps):
        if watch.see(5.0 * number, temp_c, offset_c, offset_known=known):
            return 5 * number
    return None


def test_above_the_margin_it_speaks_within_a_minute_where_the_probe_is_known():
    hot = [800.0 + KNOWN_MARGIN_C + 1.0] * 40
    assert first_told(OverTemperatureWatch(800.0), hot, known=True) <= 60
    assert KNOWN_MARGIN_C == 15.0


def test_where_the_probe_is_not_known_it_takes_ten_degrees_and_two_minutes_more():
    assert (UNKNOWN_MARGIN_C, UNKNOWN_FOR_S) == (25.0, 120.0)
    assert first_told(OverTemperatureWatch(800.0), [824.0] * 200, known=False) is None
    assert first_told(OverTemperatureWatch(800.0), [826.0] * 200, known=False) == 120


def test_the_margin_is_taken_after_the_usual_difference():
    assert first_told(OverTemperatureWatch(800.0), [826.0] * 100, 12.0, known=True) is None
    assert first_told(OverTemperatureWatch(800.0), [828.0] * 100, 12.0, known=True) is not None
    assert first_told(OverTemperatureWatch(800.0), [806.0] * 100, -12.0, known=True) is not None


def test_one_spike_over_the_margin_is_nothing():
    temps = [800.0] * 10 + [1300.0] + [800.0] * 10
    assert first_told(OverTemperatureWatch(800.0), temps, known=True) is None
    assert first_told(OverTemperatureWatch(800.0), temps, known=False) is None


def test_it_says_how_far_above():
    watch = OverTemperatureWatch(800.0)
    found = [watch.see(5.0 * n, 840.0, 0.0, offset_known=True) for n in range(20)][-1]
    assert (found.kind, found.rank, found.since_s) == ("over-temperature", Rank.WAKE, 0.0)
    assert found.facts["over_c"] == 40.0
    assert found.severity_c == 840.0


def test_a_probe_that_reads_colder_than_any_studio_has_its_leads_swapped():
    watch = SensorWatch()
    told = [watch.see(Sample(5.0 * i, 19.0 - 0.1 * i), dangerous=False) for i in range(400)]
    first = next(found for found in told if found is not None)
    assert (first.kind, first.rank) == ("sensor-fault", Rank.LOOK)
    # 15 °C less 12 K is passed at the 161st reading, and has to last a minute.
    assert told.index(first) * 5.0 == 160 * 5.0 + 60.0
    assert all(found is not None for found in told[told.index(first):])


@pytest.mark.parametrize(("from_c", "to_c"), [(45.0, 6.0), (4.0, -6.0), (600.0, 12.0)])
def test_a_cold_studio_is_no_swapped_lead(from_c, to_c):
    watch = SensorWatch()
    readings = [Sample(60.0 * i, max(to_c, from_c - 1.0 * i)) for i in range(700)]
    assert all(watch.see(sample, dangerous=False) is None for sample in readings)
