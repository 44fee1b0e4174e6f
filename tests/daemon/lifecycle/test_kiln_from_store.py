"""Which firings of the record a kiln is learned from."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from daemon.firing.events import Alert, AlertChanged, Rank, Text
from daemon.lifecycle.kiln_from_store import past_firings
from daemon.store import alerts, firings, kilns
from daemon.store.database import create_database
from daemon.store.wear import part_changes
from simulations.studio.seed import KILN_NAME, PAST, seed_studio

NOW = datetime(2026, 5, 20, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def seeded(tmp_path_factory):
    path = tmp_path_factory.mktemp("studio") / "lehrling.db"
    db = create_database(path)
    seed_studio(db, NOW, [PAST[0], PAST[3], replace(PAST[0], days_ago=2, title="Second bowl"), replace(
        PAST[3], days_ago=1, title="A night without power", faults=("power-cut=20h@step1:hold+5min",))])
    return db


@pytest.fixture
def db(seeded):
    seeded.conn.execute("SAVEPOINT before")
    yield seeded
    seeded.conn.execute("ROLLBACK TO before")


def kiln(db):
    return kilns.find(db, KILN_NAME)


def test_the_earliest_comes_first_with_its_parts_and_a_row_a_minute(db):
    past = past_firings(db, kiln(db), UTC)
    assert len(past) == 3
    assert [ran.part for ran in past[0].ran] == list(range(len(past[0].planned)))
    assert past[0].trace[0][1] < 33
    assert 50 <= past[0].trace[61][0] - past[0].trace[60][0] <= 70
    assert past[1].planned[0].to_c == 650


def test_what_was_fired_before_a_part_was_changed_teaches_nothing_of_the_kiln(db):
    part_changes.add_change(db, kiln(db), "elements", date(2026, 5, 17), "", NOW)
    assert len(past_firings(db, kiln(db), UTC)) == 1


def test_a_firing_without_a_plan_is_passed_over(db):
    newest = firings.latest_of_kiln(db, kiln(db), 2)[1]
    firings.name_firing(db, newest.firing_id, {"plan_id": None})
    assert len(past_firings(db, kiln(db), UTC)) == 2


def test_a_firing_that_broke_off_is_passed_over(db):
    ended = firings.latest_of_kiln(db, kiln(db), 9)
    assert [firing.title for firing in ended][:2] == ["A night without power", "Second bowl"]
    assert len(past_firings(db, kiln(db), UTC)) == len(ended) - 1


def test_a_known_offset_of_the_probe_is_taken_off(db):
    before = past_firings(db, kiln(db), UTC)[-1].trace[300][1]
    newest = firings.latest_of_kiln(db, kiln(db), 2)[1]
    firings.name_firing(db, newest.firing_id, {"offset_c": 4.0})
    assert past_firings(db, kiln(db), UTC)[-1].trace[300][1] == pytest.approx(before - 4.0)


def test_an_empty_kiln_teaches_nothing(db):
    assert past_firings(db, 999, UTC) == []


def test_a_firing_in_which_its_power_was_told_to_be_wrong_is_none_of_the_quiet_ones(db):
    def quiet():
        return [firing.is_quiet for firing in past_firings(db, kilns.find(db, KILN_NAME), UTC)]

    before = quiet()
    assert any(before)
    latest = firings.latest_of_kiln(db, kilns.find(db, KILN_NAME), 4)[1]
    alert = Alert(90, "not-climbing", Rank.LOOK, 100.0, 130.0, Text("", "", ""))
    alerts.record(db, latest.firing_id, AlertChanged(130.0, "raised", alert), NOW)
    assert [*before[:-1], False] == quiet()
