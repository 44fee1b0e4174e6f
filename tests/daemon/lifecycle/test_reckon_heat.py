"""The heat of a firing in the file is reckoned once it has ended, and nothing stops the watch where it can't be."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.firing.events import Alert, AlertChanged, Part, Rank, Sample, Text
from daemon.lifecycle.reckon_heat import AT_ONCE, METHOD, reckon_due
from daemon.store import alerts, firings, found_parts, kilns, plans, readings
from daemon.store.wear import heat

NOW = datetime(2026, 3, 1, 4, 20, tzinfo=UTC)
PLAN = (
    'title = "Up and down"\nunit = "C"\n[[step]]\nrate = 300\nto = 800\nhold_min = 30\n'
    '[[step]]\nrate = "free"\nto = 40\n')
UP_S, HELD_S, DOWN_S = 9360.0, 11_160.0, 40_000.0


def _fired(db, *, with_plan=True, offset_c=None, until_s=DOWN_S):
    kiln = kilns.kiln_id(db, "Kiln")
    number = firings.open_firing(
        db, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "hand", "K"), title="Bowl", opened_by="maker",
        started_utc=NOW, boot_id="a", clock_s=0.0, offset_c=offset_c,
        plan_id=plans.add_plan(db, PLAN, NOW) if with_plan else None)
    samples = []
    for t_s in range(0, int(until_s), 5):
        fallen = max(0.0, t_s - HELD_S)
        temp_c = min(800.0, 20.0 + t_s / 12) if t_s < HELD_S else 20.0 + 780.0 * 2.718281828 ** (-fallen / 9000.0)
        samples.append(Sample(float(t_s), temp_c))
    readings.append(db, number, samples)
    if with_plan:
        found_parts.replace_parts(db, number, [
            Part(0, 1, "ramp", 0.0, UP_S), Part(1, 1, "hold", UP_S, HELD_S), Part(2, 2, "ramp", HELD_S, until_s)])
    firings.end_firing(db, number, until_s, NOW + timedelta(seconds=until_s), "cold")
    return number


def test_every_ended_firing_is_reckoned_once(db, tmp_path):
    whole, nameless, cut = _fired(db), _fired(db, with_plan=False), _fired(db, until_s=HELD_S)
    assert reckon_due(tmp_path / "lehrling.db") == 3
    assert reckon_due(tmp_path / "lehrling.db") == 0
    found = heat.of_kiln(db, 1, 9)
    assert found[whole].kelvin_h > 1000.0
    assert (found[nameless].why, found[cut].why) == ("no-plan", "no-fall")
    # Above 600 °C: from 6960 s of the climb on, the hold, and 9000 s · ln(780/580) of the fall.
    assert found[whole].hot_s == pytest.approx(HELD_S - 6960.0 + 9000.0 * 0.2963, abs=90.0)


def test_the_owner_s_correction_of_the_probe_counts(db, tmp_path):
    plain, corrected = _fired(db), _fired(db, offset_c=100.0)
    reckon_due(tmp_path / "lehrling.db")
    found = heat.of_kiln(db, 1, 9)
    assert found[corrected].hot_s < found[plain].hot_s


def test_the_work_of_one_go_is_bounded(db, tmp_path):
    for _ in range(AT_ONCE + 1):
        _fired(db, until_s=600.0)
    assert reckon_due(tmp_path / "lehrling.db") == AT_ONCE
    assert reckon_due(tmp_path / "lehrling.db") == 1
    assert heat.due(db, METHOD, 9) == []


def test_without_a_file_nothing_is_reckoned_and_nothing_raised(tmp_path):
    assert reckon_due(tmp_path / "none.db") == 0


@pytest.mark.parametrize(("kind", "why"), [
    ("reading-frozen", "gap"), ("sensor-fault", "gap"), ("hold-overrun", None)])
def test_readings_that_were_not_believed_count_as_none(db, tmp_path, kind, why):
    number = _fired(db)
    alert = Alert(1, kind, Rank.WAKE, 7000.0, 7100.0, Text("It stands still.", "", "Look.", None), cleared_s=9500.0)
    alerts.record(db, number, AlertChanged(9500.0, "cleared", alert), NOW)
    reckon_due(tmp_path / "lehrling.db")
    found = heat.of_firing(db, number)
    assert found.why == why
    # Of the stretch from 7000 to 9500 s nothing is known, and it was hot in all of it.
    lost_s = 0.0 if why is None else 2500.0
    assert found.hot_s == pytest.approx(HELD_S - 6960.0 + 9000.0 * 0.2963 - lost_s, abs=150.0)


@pytest.mark.parametrize(("rank", "why"), [(Rank.WAKE, "heated-in-a-fall"), (Rank.LOOK, "heated-in-a-fall"),
                                           (Rank.LOG, None)])
@pytest.mark.parametrize("kind", ["not-cooling", "over-temperature"])
def test_a_kiln_that_was_heated_where_it_should_fall_shows_nothing_of_its_loss(db, tmp_path, kind, rank, why):
    number = _fired(db)
    alert = Alert(1, kind, rank, 12_000.0, 12_600.0, Text("It does not cool.", "", "Isolator off.", None))
    alerts.record(db, number, AlertChanged(12_600.0, "raised", alert), NOW)
    reckon_due(tmp_path / "lehrling.db")
    assert heat.of_firing(db, number).why == why
