"""Which ended firings broke off, and that they teach the next ones nothing of the probe."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from daemon.firing.events import Alert, AlertChanged, Part, Rank, Text
from daemon.firing.setup import Reads
from daemon.lifecycle.broke_off import broken_off
from daemon.lifecycle.setup_from_store import known_setup
from daemon.store import alerts, firings, found_parts, judgements, plans

START_UTC = datetime(2026, 3, 1, 20, 0, tzinfo=UTC)
PLAN = ('title = "Fuse"\nunit = "C"\n[[step]]\nrate = 200\nto = 790\nhold_min = 15\n'
        '[[step]]\nrate = "free"\nto = 516\nhold_min = 60\n[[step]]\nrate = 60\nto = 370\n')
LAST = 4
"""Number of the last part: ramp and hold, ramp and hold, ramp."""


@pytest.fixture
def fired(db, open_one):
    """Return a function that keeps an ended firing and returns it; its anneal hold read ``mean_c``."""
    plan = plans.add_plan(db, PLAN, START_UTC)

    def _fired(*, day=0, begun=LAST, told=None, kind="", rank=Rank.WAKE, has_plan=True, mean_c=507.0):
        number = open_one(plan_id=plan if has_plan else None, started_utc=START_UTC + timedelta(days=day))
        found_parts.replace_parts(db, number, [
            Part(index, index // 2 + 1, "hold" if index % 2 else "ramp", 1000.0 * index, 1000.0 * index + 3600.0, 0.1,
                 mean_c if index == 3 else None) for index in range(begun + 1)])
        if kind:
            alert = Alert(1, kind, rank, 100.0, 130.0, Text("", "", ""), 130.0 if rank is Rank.WAKE else None)
            alerts.record(db, number, AlertChanged(130.0, "raised", alert), START_UTC)
        firings.end_firing(db, number, 50_000.0, START_UTC + timedelta(days=day, hours=14), "maker")
        if told is not None:
            judgements.add_judgement(db, number, told, "1", START_UTC)
        return firings.firing(db, number)

    return _fired


RAN = {"finished": True, "peak_c": 791.0}


@pytest.mark.parametrize(("given", "is_broken"), [
    ({"told": RAN}, False),
    ({"told": RAN, "kind": "firing-stopped"}, True),
    ({"told": RAN, "kind": "restarted"}, True),
    ({"told": RAN, "kind": "firing-stopped", "rank": Rank.LOOK}, False),  # a top left a few minutes early
    ({"told": RAN, "kind": "cooling-too-fast"}, False),
    ({"told": {"finished": False, "peak_c": 791.0}}, False),  # opened while it cooled in the last step
    ({"told": {"finished": False, "peak_c": 791.0}, "begun": 2}, True),  # stopped on the way to the anneal
    ({"told": {"finished": False, "peak_c": 410.0}}, True),  # it fell from 410 °C through all that is cooler
    ({"told": {"finished": False, "peak_c": 410.0}, "begun": 0}, True),
    ({"told": {"finished": False, "peak_c": None}}, True),
    ({"begun": 0}, False),  # not judged: nothing is known
    ({"told": {"finished": False, "peak_c": 410.0}, "has_plan": False, "begun": -1}, False),
])
def test_a_firing_broke_off_where_it_stopped_began_anew_or_ended_short_of_its_plan(db, fired, given, is_broken):
    firing = fired(**given)
    assert broken_off(db, [firing]) == ({firing.firing_id} if is_broken else set())


def test_what_broke_off_teaches_the_next_firing_nothing_of_the_probe(db, fired):
    for day in range(3):
        fired(day=day, told=RAN, mean_c=507.0)
    for day in range(3, 8):
        fired(day=day, told=RAN, kind="firing-stopped", mean_c=498.0)
    now = fired(day=9)
    [(band, usual_k)] = known_setup(db, now, Reads("C")).usual_by_band.items()
    assert band[0] <= 516.0 < band[1]
    assert usual_k == pytest.approx(-9.0)
