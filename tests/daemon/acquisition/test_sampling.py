from __future__ import annotations

import pytest

from daemon.acquisition.sampling import Slot, summary
from daemon.firing.events import Sample
from hw.thermocouple import Fault, Reading


def _run(readings):
    slot = Slot()
    return [sample for t_s, reading in readings for sample in slot.add(t_s, reading)]


def test_five_readings_make_one_sample_with_median_lowest_and_highest():
    found = _run([(t, Reading(c)) for t, c in zip(range(1, 6), [500.0, 501.0, 499.0, 530.0, 500.5], strict=True)])
    assert found == [Sample(5.0, 500.5, None, 499.0, 530.0)]


def test_second_nought_is_a_sample_of_its_own():
    assert _run([(0, Reading(20.0)), (1, Reading(21.0))]) == [Sample(0.0, 20.0, None, 20.0, 20.0)]


def test_samples_come_every_five_seconds_at_whole_multiples():
    found = _run([(t, Reading(20.0)) for t in range(0, 31)])
    assert [sample.t_s for sample in found] == [0, 5, 10, 15, 20, 25, 30]


def test_a_sample_is_a_whole_number_of_the_chip_s_steps():
    (sample,) = _run([(t, Reading(500.0 + t / 1000)) for t in range(1, 6)])
    assert all(value * 128 == round(value * 128) for value in (sample.temp_c, sample.low_c, sample.high_c))


def test_one_good_reading_is_enough_and_a_fault_beside_it_is_no_number():
    readings = [(1, Reading(None, fault=Fault.OPEN)), (2, Reading(500.0)), (5, Reading(None, fault=Fault.OPEN))]
    assert _run(readings) == [Sample(5.0, 500.0, None, 500.0, 500.0)]


@pytest.mark.parametrize(("faults", "told"), [
    ([Fault.SILENT, Fault.OPEN, Fault.OPEN], "open"),
    ([Fault.SILENT, Fault.RANGE], "range"),
    ([Fault.SILENT, Fault.OPEN, Fault.SHORT], "short"),
])
def test_a_blind_slot_tells_the_fault_seen_most_then_the_most_definite(faults, told):
    assert summary(5, [Reading(None, fault=fault) for fault in faults]) == Sample(5.0, None, told)


def test_a_slot_cut_off_by_missed_seconds_keeps_its_own_end_and_the_missed_ones_leave_nothing():
    found = _run([(1, Reading(500.0)), (2, Reading(501.0)), (43, Reading(480.0)), (45, Reading(470.0))])
    assert found == [Sample(5.0, 500.5, None, 500.0, 501.0), Sample(45.0, 475.0, None, 470.0, 480.0)]
