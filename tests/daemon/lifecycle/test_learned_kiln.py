"""The learned kiln: kept with what it was learned from, forgotten where that changed, and beside an open firing."""

import sqlite3
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from daemon.firing.energy.thermal import Thermal
from daemon.firing.verdict.slowing import Slowing, by_power
from daemon.kiln.kiln_model import Difference, KilnModel, PartKind
from daemon.kiln.learn import learn
from daemon.kiln.model_text import as_text, from_text
from daemon.lifecycle.kiln_from_store import past_firings
from daemon.lifecycle.learned_kiln import METHOD, known_kiln, learn_due, teach, teach_apart
from daemon.store import bin, firings, kilns
from daemon.store.database import create_database
from daemon.store.wear import learned_kilns, part_changes
from daemon.store.wear.learned_kilns import LearnedKiln
from simulations.studio.seed import KILN_NAME, PAST, seed_studio

NOW = datetime(2026, 5, 20, 12, tzinfo=UTC)
MODEL = KilnModel(Thermal(1 / 2600, 1 / 7000, 1 / 12_000, 1 / 25_000), 0.30, True, 2.0, 120.0, {
    PartKind.CLIMB: Difference(30.0, 0.05, 120.0), PartKind.LAST_FALL: Difference(0.0, 0.1, 900.0)},
    5, by_power(0.12))


@pytest.fixture(scope="module")
def seeded(tmp_path_factory):
    path = tmp_path_factory.mktemp("studio") / "lehrling.db"
    db = create_database(path)
    seed_studio(db, NOW, [PAST[0], replace(PAST[3], days_ago=1)])
    assert learn_due(path, KILN_NAME, UTC, NOW, teach)
    db.close()
    return path


@pytest.fixture
def path(seeded, tmp_path):
    copy = tmp_path / "lehrling.db"
    copy.write_bytes(seeded.read_bytes())
    return copy


@pytest.fixture
def db(path):
    found = create_database(path)
    yield found
    found.close()


def known(db):
    kiln_id = kilns.find(db, KILN_NAME)
    return known_kiln(db, kiln_id, latest(db).probe_id, UTC)


def latest(db):
    return firings.latest_of_kiln(db, kilns.find(db, KILN_NAME), 1)[0]


def test_what_is_kept_is_what_the_firings_teach(db):
    assert known(db) == learn(past_firings(db, kilns.find(db, KILN_NAME), UTC))
    assert known(db).firings == 2


def test_a_process_of_its_own_learns_the_same(path, db):
    numbers = [row.firing_id for row in firings.latest_of_kiln(db, kilns.find(db, KILN_NAME), 9)]
    assert teach_apart(path, numbers) == teach(path, numbers)


def test_a_process_that_fails_is_said_and_stops_nothing(path, db, caplog, monkeypatch):
    bin.put_into_bin(db, latest(db).firing_id, NOW)
    monkeypatch.setattr("daemon.lifecycle.learned_kiln.sys.executable", "/bin/false")
    assert not learn_due(path, KILN_NAME, UTC, NOW)
    assert "the process that learns it failed" in caplog.text


def test_it_is_learned_once(path):
    assert not learn_due(path, KILN_NAME, UTC, NOW, teach)


@pytest.mark.parametrize("change", [
    lambda db: bin.put_into_bin(db, latest(db).firing_id, NOW),
    lambda db: firings.name_firing(db, latest(db).firing_id, {"offset_c": 4.0}),
    lambda db: firings.name_firing(db, latest(db).firing_id, {"plan_id": None}),
], ids=["deleted", "another correction", "no plan"])
def test_a_changed_firing_is_forgotten_and_then_learned_again(path, db, change):
    before = known(db)
    change(db)
    assert known(db) is None
    assert learn_due(path, KILN_NAME, UTC, NOW, teach)
    assert known(db) not in (None, before)


def test_changed_elements_forget_all(path, db):
    part_changes.add_change(db, kilns.find(db, KILN_NAME), "elements", date(2026, 5, 20), "", NOW)
    assert known(db) is None
    assert learn_due(path, KILN_NAME, UTC, NOW, teach)
    assert learned_kilns.learned(db, kilns.find(db, KILN_NAME)) is None
    assert not learn_due(path, KILN_NAME, UTC, NOW, teach)


def test_another_probe_knows_nothing(db):
    kiln_id = kilns.find(db, KILN_NAME)
    other = kilns.probe_id(db, kiln_id, "new one", "K")
    assert known_kiln(db, kiln_id, other, UTC) is None


@pytest.mark.parametrize("is_kept", [True, False])
def test_while_a_firing_is_open_a_kiln_is_learned_only_where_nothing_is_kept(path, db, is_kept):
    row = latest(db)
    bin.put_into_bin(db, row.firing_id, NOW)
    firings.open_firing(db, kiln_id=row.kiln_id, probe_id=row.probe_id, title="Tonight", opened_by="maker",
                        started_utc=NOW, boot_id="b", clock_s=0.0)
    if not is_kept:
        learned_kilns.forget(db, row.kiln_id)
    assert learn_due(path, KILN_NAME, UTC, NOW, teach) is not is_kept
    assert (known(db) is None) is is_kept


def test_a_later_firing_leaves_it_known_until_it_is_learned_again(path, db):
    before, row = known(db), latest(db)
    number = firings.open_firing(db, kiln_id=row.kiln_id, probe_id=row.probe_id, title="Short", opened_by="maker",
                                 started_utc=NOW, boot_id="b", clock_s=0.0)
    firings.end_firing(db, number, 60.0, NOW, "maker")
    assert known(db) == before
    assert learn_due(path, KILN_NAME, UTC, NOW, teach)
    assert known(db) == before  # a firing without a plan teaches nothing


def test_other_rules_and_a_text_of_another_program_are_not_used(db):
    kiln_id = kilns.find(db, KILN_NAME)
    kept = learned_kilns.learned(db, kiln_id)
    for wrong in (kept._replace(method=METHOD + 1), kept._replace(model="{}"), kept._replace(model="")):
        learned_kilns.put(db, kiln_id, wrong, NOW)
        assert known(db) is None


def test_a_damaged_record_is_said_and_stops_nothing(tmp_path, caplog):
    path = tmp_path / "lehrling.db"
    path.write_bytes(b"no database at all, but some bytes" * 40)
    assert not learn_due(path, KILN_NAME, UTC, NOW, teach)
    assert "could not be learned" in caplog.text


def test_a_kiln_comes_back_from_its_text():
    assert from_text(as_text(MODEL)) == MODEL
    for wrong in ("", "[]", "{}", as_text(MODEL).replace("0.3", "NaN"), as_text(MODEL).replace("climb", "flight"),
                  as_text(MODEL._replace(thermal=MODEL.thermal._replace(exchange_per_s=0.0))),
                  as_text(MODEL._replace(slows=Slowing((0.0, 0.1))))):
        assert from_text(wrong) is None


def taught(studio):
    """Let the studio's kiln have been learned."""
    db = create_database(studio.path)
    kiln_id = kilns.kiln_id(db, studio.config.kiln_name)
    probe_id = kilns.probe_id(db, kiln_id, "hand", "K")
    learned_kilns.put(db, kiln_id, LearnedKiln(probe_id, (), as_text(MODEL), METHOD), NOW)
    db.close()


def forecasts(studio):
    said = studio.present()
    return {key: said[key] for key in ("anneal_at_s", "anneal_margin_s", "anneal_step", "open_at_s", "open_margin_s",
                                       "learned_firings")}


def climbing(studio):
    """Let the kiln climb by the first step of SLUMP, from the start press on."""
    start_s = studio.clock.now_s()
    studio.says = lambda s: 21.0 + 150.0 * max(0.0, s - start_s) / 3600


def test_a_learned_kiln_foresees_the_firing_that_runs(studio, slump):
    taught(studio)
    climbing(studio)
    studio.start_firing(plan_id=slump)
    studio.run(900)
    found = forecasts(studio)
    assert found["learned_firings"] == 5
    assert found["anneal_step"] == 2
    assert 900 < found["anneal_at_s"] < found["open_at_s"]
    assert found["anneal_margin_s"] < found["open_margin_s"]


@pytest.mark.parametrize("has_checkpoint", [True, False])
def test_a_restart_foresees_the_same(studio, slump, has_checkpoint):
    taught(studio)
    climbing(studio)
    studio.start_firing(plan_id=slump)
    studio.run(900)
    before = forecasts(studio)
    if has_checkpoint:
        studio.watch.keep_checkpoint()
    studio.kill()
    studio.start()
    studio.run(10)
    after = forecasts(studio)
    assert before["anneal_at_s"] is not None
    assert after["anneal_at_s"] == pytest.approx(before["anneal_at_s"], abs=90)
    assert after["open_at_s"] == pytest.approx(before["open_at_s"], abs=90)
    assert {**after, "anneal_at_s": 0, "open_at_s": 0, "anneal_margin_s": 0, "open_margin_s": 0} == {
        **before, "anneal_at_s": 0, "open_at_s": 0, "anneal_margin_s": 0, "open_margin_s": 0}


def test_an_open_firing_takes_up_the_kiln_that_is_learned_meanwhile(studio, slump):
    climbing(studio)
    studio.start_firing(plan_id=slump)
    studio.run(900)
    assert set(forecasts(studio).values()) == {None}
    taught(studio)
    studio.watch.kiln_was_learned()
    studio.run(10)
    found, kiln = forecasts(studio), studio.watch.live.kiln
    assert found["learned_firings"] == 5
    assert 900 < found["anneal_at_s"] < found["open_at_s"]
    walls_c = kiln._tonight.walls_c  # as after a restart: the stored readings say how warm they are
    studio.kill()
    studio.start()
    assert studio.watch.live.kiln._tonight.walls_c == pytest.approx(walls_c, abs=1e-6)


def test_what_was_learned_is_taken_up_late_where_the_record_could_not_be_written(studio, slump):
    climbing(studio)
    studio.start_firing(plan_id=slump)
    studio.run(300)
    taught(studio)
    other = sqlite3.connect(studio.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    studio.watch.kiln_was_learned()
    studio.run(30)
    assert studio.watch.live.kiln is None
    other.close()
    studio.run(30)
    assert forecasts(studio)["learned_firings"] == 5


def test_without_past_firings_nothing_is_foreseen_of_a_climb(studio, slump):
    climbing(studio)
    studio.start_firing(plan_id=slump)
    studio.run(900)
    assert set(forecasts(studio).values()) == {None}


def test_a_forecast_that_fails_is_left_out_and_the_firing_goes_on(studio, slump, monkeypatch, caplog):
    def fails(*_):
        raise ZeroDivisionError

    taught(studio)
    climbing(studio)
    studio.start_firing(plan_id=slump)
    monkeypatch.setattr("daemon.lifecycle.learned_kiln.with_forecasts", fails)
    studio.run(120)
    assert set(forecasts(studio).values()) == {None}
    assert studio.present()["t_s"] >= 115
    assert caplog.text.count("could not be foreseen") == 1
