from __future__ import annotations

import sqlite3

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from daemon.firing.events import Sample
from daemon.store import firings, found_parts, readings
from daemon.store.found_parts import Gap
from daemon.store.readings import Bucket, quantise
from daemon.store.stamps import moment


@given(st.floats(min_value=-200, max_value=1800))
def test_a_quantised_temperature_is_within_half_a_step_and_stays_itself(temp_c):
    assert abs(quantise(temp_c) - temp_c) <= 0.5 / 128
    assert quantise(quantise(temp_c)) == quantise(temp_c)


_temps = st.integers(-200 * 128, 1800 * 128).map(lambda code: code / 128)
_spans = st.integers(0, 3000).map(lambda code: code / 128)
_good = st.builds(lambda t, below, above: (t, None, t - below, t + above), _temps, _spans, _spans)
_bad = st.sampled_from(["open", "short", "range", "silent"]).map(lambda fault: (None, fault, None, None))


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(values=st.lists(_good | _bad, max_size=20))
def test_what_was_judged_is_read_back_bit_by_bit(db, open_one, values):
    firing_id = open_one()
    samples = [Sample(5.0 * i, *value) for i, value in enumerate(values)]
    readings.append(db, firing_id, samples)
    assert readings.samples(db, firing_id) == samples
    assert readings.last(db, firing_id) == (samples[-1] if samples else None)
    firings.end_firing(db, firing_id, 5 * len(values), moment("2026-03-02T00:00:00.000Z"), "maker")


def test_the_faults_of_an_older_record_keep_their_meaning(db, open_one):
    firing_id = open_one()
    with db.conn:
        db.conn.executemany("INSERT INTO reading (firing_id, t_s, fault) VALUES (?, ?, ?)",
                            [(firing_id, 5 * code, code) for code in (1, 2, 3, 4)])
    assert [sample.fault for sample in readings.samples(db, firing_id)] == ["open", "short", "range", "silent"]


def test_readings_are_kept_all_or_none(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(5.0, 20.0)])
    with pytest.raises(sqlite3.IntegrityError):
        readings.append(db, firing_id, [Sample(10.0, 20.0), Sample(5.0, 21.0)])
    assert readings.samples(db, firing_id) == [Sample(5.0, 20.0)]


def test_a_stretch_of_readings_is_found_by_its_seconds(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(5.0 * i, float(i)) for i in range(10)])
    assert [s.t_s for s in readings.samples(db, firing_id, 10.0, 20.0)] == [10.0, 15.0, 20.0]


def test_a_reading_takes_at_most_24_bytes_of_the_file(db, open_one):
    firing_id = open_one()
    db.execute("PRAGMA synchronous = OFF")
    db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    before = db.execute("PRAGMA page_count").fetchone()[0]
    samples = [Sample(5.0 * i, 500 + i / 128, None, 500 + (i - 40) / 128, 500 + (i + 40) / 128)
               for i in range(17_280)]
    for at in range(0, len(samples), 7):  # in small commits, as the daemon writes them
        readings.append(db, firing_id, samples[at:at + 7])
    pages = db.execute("PRAGMA page_count").fetchone()[0] - before
    assert pages * db.execute("PRAGMA page_size").fetchone()[0] / len(samples) <= 24


def test_buckets_lose_no_dip_and_no_peak(db, open_one):
    firing_id = open_one()
    samples = [Sample(5.0 * i, 500.0, None, 499.5, 500.5) for i in range(2000)]
    samples[777] = Sample(5.0 * 777, 410.0, None, 405.0, 410.0)
    samples[1500] = Sample(5.0 * 1500, 530.0, None, 530.0, 535.0)
    readings.append(db, firing_id, samples)
    found = readings.buckets(db, firing_id, 100)
    assert len(found) == 100
    assert min(b.low_c for b in found) == 405.0
    assert max(b.high_c for b in found) == 535.0
    assert [b.t_s for b in found] == sorted(b.t_s for b in found)


def test_a_short_trace_comes_as_its_own_readings(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(5.0, 20.0), Sample(10.0, 21.0), Sample(15.0, None, "open")])
    assert readings.buckets(db, firing_id, 1500) == [
        Bucket(5, 20.0, 20.0, 20.0), Bucket(10, 21.0, 21.0, 21.0), Bucket(15, None, None, None)]


def test_a_gap_breaks_the_line_where_it_is_shorter_than_a_stretch_too(db, open_one):
    firing_id = open_one()
    times = [*range(0, 3000, 5), *range(3060, 6000, 5), *range(9000, 12000, 5)]
    readings.append(db, firing_id, [Sample(float(t), 500.0) for t in times])
    found_parts.add_gap(db, firing_id, Gap(2995, 3060, "restarted"))
    found_parts.add_gap(db, firing_id, Gap(5995, 9000, "restarted"))
    found = readings.buckets(db, firing_id, 40)  # of 300 s each
    blank = [b.t_s for b in found if b.mid_c is None]
    assert len(blank) == 2
    assert 2995 < blank[0] < 3060
    assert 5995 < blank[1] < 9000


def test_a_trace_read_once_a_minute_has_no_false_gaps(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(60.0 * i, 500.0) for i in range(100)])
    assert all(b.mid_c == 500.0 for b in readings.buckets(db, firing_id, 1500))


def test_two_readings_a_minute_apart_have_no_gap_between(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(0.0, 20.0), Sample(60.0, 21.0)])
    assert readings.buckets(db, firing_id, 1500) == [Bucket(0, 20.0, 20.0, 20.0), Bucket(60, 21.0, 21.0, 21.0)]


def test_one_reading_alone_is_one_bucket_of_the_services_spacing(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(100.0, 20.0)])
    assert readings.buckets(db, firing_id, 1500) == [Bucket(100, 20.0, 20.0, 20.0)]


def test_a_stretch_in_which_nothing_was_read_has_its_blank_row_in_the_middle(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(5.0 * i, 500.0) for i in [*range(20), *range(60, 80)]])
    found = readings.buckets(db, firing_id, 10)  # stretches of 40 s: 400 s of which 100 to 300 are silent
    assert [b.t_s for b in found if b.mid_c is None] == [200]
    assert [b.t_s for b in found if b.mid_c is not None] == [18, 58, 88, 308, 338, 378]


def test_each_stretch_is_as_long_as_it_takes_to_be_so_many(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(float(t_s), 500.0) for t_s in range(0, 1000, 10)])
    for count, found in ((100, 100), (99, 50), (50, 50), (1, 1), (0, 1)):
        assert len(readings.buckets(db, firing_id, count)) == found


def test_the_highest_and_the_last_reading_are_found_and_a_stretch_may_be_open_at_either_end(db, open_one):
    firing_id = open_one()
    assert (readings.last(db, firing_id), readings.highest_c(db, firing_id)) == (None, None)
    kept = [Sample(-10.0, 20.0), Sample(0.0, 801.5), Sample(10.0, 600.0)]
    readings.append(db, firing_id, kept)
    assert (readings.last(db, firing_id), readings.highest_c(db, firing_id)) == (kept[-1], 801.5)
    assert readings.samples(db, firing_id, from_s=0.0) == kept[1:]
    assert readings.samples(db, firing_id, to_s=0.0) == kept[:2]
    assert readings.samples(db, firing_id + 1) == []


def test_a_fault_beside_a_temperature_is_kept_as_it_is(db, open_one):
    firing_id = open_one()
    odd = [Sample(0.0, 20.0, "range"), Sample(5.0, None, None), Sample(10.0, 20.0, None, 19.5, None),
           Sample(15.0, 20.0, None, None, 20.5)]
    readings.append(db, firing_id, odd)
    assert readings.samples(db, firing_id) == odd


def test_a_stretch_comes_in_its_own_buckets_with_the_gaps_within_it(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(5.0 * i, 500.0 + i) for i in range(2000)])
    found_parts.add_gap(db, firing_id, Gap(1001, 1004, "restarted"))
    found_parts.add_gap(db, firing_id, Gap(9001, 9004, "restarted"))
    found = readings.buckets(db, firing_id, 100, 1000.0, 1100.0)
    assert [b.t_s for b in found] == [1000, 1002, *range(1005, 1101, 5)]
    assert [b.mid_c for b in found if b.mid_c is not None] == [500.0 + t / 5 for t in range(1000, 1101, 5)]


def _end(db, firing_id, at_s):
    firings.end_firing(db, firing_id, at_s, moment("2026-03-02T00:00:00.000Z"), "maker")


def test_the_thinned_trace_kept_at_the_end_is_that_of_the_readings(db, open_one):
    firing_id = open_one()
    samples = [Sample(float(t), 20.0 + t / 90, None, 19.5 + t / 90, 20.75 + t / 90)
               for t in [*range(0, 30_000, 5), *range(33_000, 60_000, 5)]]
    samples[3000] = Sample(samples[3000].t_s, None, "open")
    readings.append(db, firing_id, samples)
    found_parts.add_gap(db, firing_id, Gap(40_001, 40_004, "restarted"))
    made = readings.thinned(db, firing_id)
    assert made == readings.buckets(db, firing_id, readings.THINNED)
    _end(db, firing_id, 60_000)
    db.execute("DELETE FROM reading")  # what comes now was kept
    kept = readings.thinned(db, firing_id)
    assert [b.t_s for b in kept] == [b.t_s for b in made]
    assert sum(b.mid_c is None for b in kept) >= 2
    for one, other in zip(kept, made, strict=True):
        for found_c, asked_c in zip(one[1:], other[1:], strict=True):
            assert found_c == asked_c if asked_c is None else abs(found_c - asked_c) <= 0.5 / 128


def test_a_firing_that_ended_earlier_is_thinned_when_it_is_asked_for_and_no_open_one_is(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(5.0 * i, 20.0 + i) for i in range(100)])
    assert readings.not_thinned(db, 9) == []
    _end(db, firing_id, 500)
    assert readings.not_thinned(db, 9) == []
    db.execute("DELETE FROM thinned_trace")  # as an older version left it
    before = readings.thinned(db, firing_id)
    assert readings.not_thinned(db, 9) == [firing_id]
    readings.keep_thinned(db, firing_id)
    assert readings.not_thinned(db, 9) == []
    assert readings.thinned(db, firing_id) == before


def test_a_firing_without_readings_has_no_buckets(db, open_one):
    firing_id = open_one()
    assert readings.buckets(db, firing_id, 100) == []
    _end(db, firing_id, 0)
    assert readings.thinned(db, firing_id) == []
