"""What the file tells the watch before the first reading: how the probe read in the firings before."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.firing.events import Part
from daemon.firing.setup import Reads
from daemon.lifecycle.setup_from_store import known_setup
from daemon.store import firings, found_parts, kilns, plans

START_UTC = datetime(2026, 3, 1, 20, 0, tzinfo=UTC)
PLAN = 'title = "Refire"\nunit = "C"\n[[step]]\nrate = 200\nto = 790\nhold_min = 15\n' \
       '[[step]]\nrate = "free"\nto = 516\nhold_min = 60\n[[step]]\nrate = 60\nto = 370\n'
ANNEAL = (400.0, 600.0)


@pytest.fixture
def fire(db, open_one):
    """Return a function that keeps an ended firing whose anneal read ``mean_c``, begun ``day`` days on."""
    plan = plans.add_plan(db, PLAN, START_UTC)

    def _fire(day, mean_c, *, ended=True, **given):
        number = open_one(plan_id=plan, started_utc=START_UTC + timedelta(days=day), **given)
        found_parts.replace_parts(db, number, [
            Part(index=3, step=2, part="hold", start_s=20_000.0, end_s=23_600.0, rate_c_per_h=0.1, mean_c=mean_c)])
        if ended:
            firings.end_firing(db, number, 50_000.0, START_UTC + timedelta(days=day, hours=14), "maker")
        return number

    return _fire


def usual(db, number):
    return dict(known_setup(db, firings.firing(db, number), Reads("C")).usual_by_band)


def test_three_firings_before_this_one_show_how_the_probe_reads(db, fire):
    for day in range(3):
        fire(day, 507.0 + day)
    now = fire(3, 516.0, ended=False)
    assert usual(db, now) == {ANNEAL: pytest.approx(-8.0)}


def test_what_came_later_is_not_known_when_it_is_judged_again(db, fire):
    first = [fire(day, 507.0) for day in range(3)]
    for day in range(3, 9):
        fire(day, 520.0)
    assert usual(db, first[2]) == {}


def test_another_probe_shows_nothing_of_this_one(db, fire):
    other = kilns.probe_id(db, kilns.kiln_id(db, "Back room kiln"), "bench", "N")
    for day in range(3):
        fire(day, 507.0, probe_id=other)
    assert usual(db, fire(3, 516.0, ended=False)) == {}


def test_what_the_owner_corrects_by_hand_is_not_corrected_twice(db, fire):
    # The probe reads 9 K low; from the third firing on the owner says so, and the parts are kept without it.
    for day, mean_c, offset_c in ((0, 507.0, None), (1, 507.0, None), (2, 516.0, -9.0), (3, 516.0, -9.0)):
        fire(day, mean_c, offset_c=offset_c)
    assert usual(db, fire(4, 516.0, ended=False, offset_c=-9.0)) == {ANNEAL: pytest.approx(0.0)}
