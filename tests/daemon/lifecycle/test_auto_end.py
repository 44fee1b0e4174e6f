from __future__ import annotations

import random

import pytest

from daemon.firing.events import Sample
from daemon.lifecycle.auto_end import ABANDONED_S, ColdWatch
from daemon.store import found_parts


def _over_at_s(curve, seconds, **said):
    said = {"finished": False, "has_plan": True, "opened_itself": False, **said}
    cold = ColdWatch()
    for t_s in range(0, seconds, 5):
        temp_c = curve(t_s)
        cold.take(Sample(float(t_s), temp_c, None if temp_c is not None else "open"))
        if temp_c is not None and cold.is_over(float(t_s), **said):
            return t_s
    return None


def _cools(t_s):
    return max(22.0, 640 - t_s * 0.1)  # passes 40 °C at second 6000


def test_a_finished_firing_ends_half_an_hour_after_it_went_cold():
    assert 6000 + 1800 <= _over_at_s(_cools, 20_000, finished=True) <= 6000 + 1815


def test_noise_and_a_room_that_warms_keep_no_cold_firing_open():
    chance = random.Random(2)

    def curve(t_s):
        return _cools(t_s) + chance.gauss(0, 0.6) + 1.5 * t_s / 20_000

    assert 6000 + 1800 <= _over_at_s(curve, 20_000, finished=True) <= 6000 + 2000


def test_without_a_plan_a_firing_that_was_hot_ends_the_same_way():
    assert 7800 <= _over_at_s(_cools, 20_000, has_plan=False) <= 7815


def test_a_firing_whose_plan_was_never_finished_waits_three_hours():
    assert 6000 + 3 * 3600 <= _over_at_s(_cools, 30_000) <= 6000 + 3 * 3600 + 15


def test_a_kiln_that_waits_cold_for_its_delayed_start_goes_on_waiting():
    assert _over_at_s(lambda t: 21.0, 12 * 3600) is None
    assert _over_at_s(lambda t: 21.0, 12 * 3600, has_plan=False) is None


def test_a_climb_that_came_to_nothing_ends():
    assert _over_at_s(lambda t: 38.0 - t * 0.001, 3 * 3600, has_plan=False, opened_itself=True) is not None


def test_a_kiln_that_starts_again_from_cold_is_not_over():
    def starts_again(t_s):
        return _cools(t_s) if t_s < 6800 else 22.0 + (t_s - 6800) * 0.01

    assert _over_at_s(starts_again, 8400, finished=True) is None


def test_blindness_is_not_cold():
    assert _over_at_s(lambda t: 640.0 if t < 100 else None, 30_000, finished=True) is None


def test_a_firing_that_has_ended_shows_its_last_part_whole(slumped):
    studio, _ = slumped(cooling_c_per_h=180.0, past_anneal_s=1200)
    here_c, since_s = studio.present()["temp_c"], studio.clock.now_s()
    studio.says = lambda s: here_c - 45.0 * (s - since_s) / 3600
    studio.run(5400)
    row = studio.firing()
    under_way = studio.see(lambda db: found_parts.parts(db, row.firing_id))[-1]
    assert under_way.end_s is None
    # 60 K in 20 min, then 67.5 K in 90: 70 °C/h in all; within ten minutes of that it was told again.
    assert under_way.rate_c_per_h == pytest.approx(-70, abs=4)
    assert studio.ask("end", firing_id=row.firing_id) == "done"
    last = studio.see(lambda db: found_parts.parts(db, row.firing_id))[-1]
    assert (last.step, last.part, last.end_s) == (3, "ramp", pytest.approx(studio.firing().ended_s, abs=5))
    assert last.rate_c_per_h == pytest.approx(-70, abs=2)


def test_zeros_that_a_logger_writes_for_no_reading_end_no_firing():
    assert _over_at_s(lambda t_s: 600.0 if t_s < 3600 else 0.0, 30_000, finished=True) is None


def test_a_probe_that_fell_to_the_room_ends_no_firing(slumped):
    """Its plan was never finished: by its readings alone it would be over after three cold hours."""
    studio, _ = slumped(cooling_c_per_h=55.0, past_anneal_s=600)
    assert studio.present()["temp_c"] > 480.0
    studio.says = lambda s: 22.0 + 0.3 * (s % 3)
    studio.run(ABANDONED_S + 900)
    now = studio.present()
    assert now["firing_id"] is not None
    assert now["sentence"].startswith(("Sensor failed", "The reading can’t be believed"))
