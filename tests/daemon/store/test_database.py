from __future__ import annotations

import shutil
import sqlite3
from datetime import UTC, datetime

import pytest
import sqlite_utils
from sqlite_utils.migrations import Migrations

from daemon.errors import BadInput
from daemon.store import firings
from daemon.store.chain.verify import verify
from daemon.store.database import (
    NoDatabase,
    create_database,
    data_version,
    is_current,
    migrate,
    open_database,
    open_unwritable,
    transaction,
)
from daemon.store.schema.migrations import MIGRATIONS
from daemon.store.wear import heat


def test_migrating_from_empty_gives_every_table_and_is_done_once(tmp_path):
    db = create_database(tmp_path / "lehrling.db")
    assert {"firing", "reading", "alert", "transition", "outbox", "request"} <= set(db.table_names())
    applied = [step.name for step in MIGRATIONS.applied(db)]
    db.close()
    again = create_database(tmp_path / "lehrling.db")
    assert [step.name for step in MIGRATIONS.applied(again)] == applied
    assert is_current(again)
    again.close()


def test_the_file_keeps_every_commit_checks_types_and_keys(db):
    assert db.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
    assert db.execute("PRAGMA synchronous").fetchone()[0] == 2  # FULL
    assert db.execute("PRAGMA foreign_keys").fetchone()[0] == 1
    for table in db.tables:
        if not table.name.startswith(("_sqlite_migrations", "written")):  # FTS5 makes its own tables
            assert table.strict, table.name
    with pytest.raises(sqlite3.IntegrityError):
        db.execute("INSERT INTO reading (firing_id, t_s) VALUES (99, 0)")
    db.execute("INSERT INTO kiln (name) VALUES ('Kiln')")
    with pytest.raises(sqlite3.IntegrityError):
        db.execute("INSERT INTO probe (kiln_id, name, thermocouple_type) VALUES ('one', 'p', 'K')")


def test_outcomes_and_photographs_of_an_older_file_are_kept(tmp_path):
    path = tmp_path / "lehrling.db"
    old = sqlite_utils.Database(path)
    MIGRATIONS.apply(old, stop_before="m_asked_once_and_deleted")
    for statement in (
            "INSERT INTO kiln VALUES (1, 'Kiln')", "INSERT INTO probe VALUES (1, 1, 'p', 'K')",
            "INSERT INTO firing (firing_id, kiln_id, probe_id, title, opened_by, started_utc, start_boot_id,"
            " start_clock_s, glass, thickness_mm, ended_s) VALUES (4, 1, 1, 'Bowl', 'maker', 'x',"
            " 'b', 0.0, '90', 6.0, 100)",
            "INSERT INTO piece (piece_id, name, glass, thickness_mm, created_utc) VALUES (2, 'Bowl', '90', 6.0, 'x')",
            "INSERT INTO outcome VALUES (7, 4, 2, '[\"clear\"]', 'rim', 'note', '2026-01-02')",
            "INSERT INTO photograph VALUES (9, 2, NULL, 'before', 'ab', 10, 20, 'words', '2026-01-02', NULL)",
            "INSERT INTO request VALUES (3, 'end', '{}', '2026-01-02', '2026-01-02', NULL, NULL)"):
        old.execute(statement)
    before = {table: old.execute(f"SELECT * FROM {table}").fetchall() for table in ("outcome", "photograph")}
    old.conn.commit()
    old.close()
    db = create_database(path)
    assert is_current(db)
    assert {table: db.execute(f"SELECT * FROM {table}").fetchall() for table in before} == before
    assert db.execute("SELECT binned_utc, emptied_utc FROM firing").fetchall() == [(None, None)]
    assert list(db.execute("PRAGMA foreign_key_check")) == []
    assert {index.name for index in db.table("outcome").indexes} == {"outcomes_of_a_firing", "outcomes_of_a_piece"}
    db.execute("INSERT INTO photograph (firing_id, moment, mark, width, height, wall_utc)"
               " VALUES (4, 'during', 'cd', 1, 1, 'x')")
    db.close()


def test_a_file_from_before_the_heat_was_kept_gets_its_tables_and_its_firings_are_due(tmp_path):
    path = tmp_path / "lehrling.db"
    old = sqlite_utils.Database(path)
    MIGRATIONS.apply(old, stop_before="m_heat_and_changed_parts")
    for statement in (
            "INSERT INTO kiln VALUES (1, 'Kiln')", "INSERT INTO probe VALUES (1, 1, 'p', 'K')",
            "INSERT INTO firing (firing_id, kiln_id, probe_id, title, opened_by, started_utc, start_boot_id,"
            " start_clock_s, glass, thickness_mm, ended_s) VALUES (4, 1, 1, 'Bowl', 'maker', 'x', 'b',"
            " 0.0, '90', 6.0, 100)"):
        old.execute(statement)
    old.conn.commit()
    old.close()
    db = create_database(path)
    assert is_current(db)
    assert heat.due(db, 1, 9) == [4]
    heat.put_heat(db, 4, heat.Heat(0.0, why="not-fired"), 1)
    with pytest.raises(sqlite3.IntegrityError):  # a figure and a reason why there is none
        heat.put_heat(db, 4, heat.Heat(0.0, 5000.0, 1500.0, None, "gap"), 1)
    with pytest.raises(sqlite3.IntegrityError):
        db.execute("INSERT INTO part_change (kiln_id, part, day, wall_utc) VALUES (1, 'door', '2026-01-01', 'x')")
    db.close()


def test_a_file_from_before_the_chains_keeps_its_firings_and_the_next_one_is_chained(tmp_path):
    path = tmp_path / "lehrling.db"
    old = sqlite_utils.Database(path)
    MIGRATIONS.apply(old, stop_before="m_chain")
    for statement in (
            "INSERT INTO kiln VALUES (1, 'Kiln')", "INSERT INTO probe VALUES (1, 1, 'p', 'K')",
            "INSERT INTO firing (firing_id, kiln_id, probe_id, title, opened_by, started_utc, start_boot_id,"
            " start_clock_s, glass, thickness_mm, ended_s) VALUES (4, 1, 1, 'Bowl', 'maker', 'x', 'b',"
            " 0.0, '90', 6.0, 100)"):
        old.execute(statement)
    old.conn.commit()
    old.close()
    db = create_database(path)
    firings.open_firing(db, kiln_id=1, probe_id=1, title="Dish", opened_by="maker", boot_id="c", clock_s=0.0,
                        started_utc=datetime(2026, 3, 1, tzinfo=UTC))
    assert [(one.firing_id, one.state) for one in verify(db)] == [
        (1, "missing"), (2, "missing"), (3, "missing"), (4, "unchained"), (5, "whole")]
    db.execute("DELETE FROM link")
    assert [one.state for one in verify(db)][3:] == ["unchained", "changed"]
    db.close()


def _steps(*functions):
    migrations = Migrations("lehrling")
    for function in functions:
        migrations()(function)
    return migrations


def _good(db):
    db.execute("CREATE TABLE first (x INTEGER) STRICT")


def _breaks_half_way(db):
    db.execute("CREATE TABLE second (x INTEGER) STRICT")
    db.execute("INSERT INTO first VALUES (1)")
    raise RuntimeError("half-way")


def test_a_failed_step_leaves_nothing_behind_and_those_before_it_stay(tmp_path):
    path = tmp_path / "lehrling.db"
    db = sqlite_utils.Database(path)
    with pytest.raises(RuntimeError, match="half-way"):
        migrate(db, str(path), _steps(_good, _breaks_half_way))
    assert "second" not in db.table_names()
    assert db.execute("SELECT count(*) FROM first").fetchone()[0] == 0

    def _breaks_half_way_no_more(db):
        db.execute("CREATE TABLE second (x INTEGER) STRICT")

    migrate(db, str(path), _steps(_good, _breaks_half_way_no_more))
    assert "second" in db.table_names()
    db.close()


def test_a_database_of_a_newer_program_is_refused_untouched_and_said_readably(tmp_path):
    path = tmp_path / "lehrling.db"

    def m999_from_the_future(db):
        db.execute("CREATE TABLE future (x INTEGER) STRICT")

    newer = sqlite_utils.Database(path)
    migrate(newer, str(path), _steps(m999_from_the_future))
    newer.close()
    before = path.read_bytes()
    with pytest.raises(BadInput) as refused:
        create_database(path)
    assert refused.value.text == (
        f"{path}: was written by a newer Lehrling (it has m999_from_the_future, unknown here)."
        " Update the program, or put a backup of the older file in its place.")
    assert path.read_bytes() == before


def test_opening_never_makes_a_file(tmp_path):
    with pytest.raises(NoDatabase, match="Start lehrling daemon first"):
        open_database(tmp_path / "lehrling.db")
    assert list(tmp_path.iterdir()) == []


def test_a_read_only_connection_refuses_to_write(db, tmp_path):
    reader = open_database(tmp_path / "lehrling.db", readonly=True)
    assert reader.execute("SELECT count(*) FROM kiln").fetchone()[0] == 0
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        reader.execute("INSERT INTO kiln (name) VALUES ('Kiln')")
    reader.close()


def test_a_folder_with_odd_signs_in_its_name_opens(tmp_path):
    folder = tmp_path / "a studio? #1 100%"
    folder.mkdir()
    create_database(folder / "lehrling.db").close()
    open_database(folder / "lehrling.db").close()
    assert (folder / "lehrling.db").is_file()


def test_data_version_changes_with_the_commits_of_others_and_not_with_its_own(db, tmp_path):
    other = open_database(tmp_path / "lehrling.db")
    before = data_version(db)
    db.execute("INSERT INTO kiln (name) VALUES ('own')")
    assert data_version(db) == before
    other.execute("INSERT INTO kiln (name) VALUES ('other')")
    assert data_version(db) != before
    other.close()


def test_a_transaction_is_all_or_nothing_inside_another_one_too(db):
    def fails_half_way():
        with transaction(db):
            db.execute("INSERT INTO kiln (name) VALUES ('dropped')")
            raise RuntimeError

    with transaction(db):
        db.execute("INSERT INTO kiln (name) VALUES ('kept')")
        with pytest.raises(RuntimeError):
            fails_half_way()
    assert [row["name"] for row in db.query("SELECT name FROM kiln")] == ["kept"]
    with pytest.raises(RuntimeError):
        fails_half_way()
    assert db.execute("SELECT count(*) FROM kiln").fetchone()[0] == 1


@pytest.fixture
def unwritable(monkeypatch):
    """Have SQLite find that it can't write beside the database, as on a read-only disk."""
    def refuse(path, *, readonly=False, busy_s=0.0):
        raise sqlite3.OperationalError("unable to open database file")

    monkeypatch.setattr("daemon.store.database.open_database", refuse)


@pytest.mark.parametrize("waiting", [None, b""])
def test_a_file_closed_in_order_is_read_on_a_disk_that_takes_no_writing(tmp_path, unwritable, waiting):
    path = tmp_path / "lehrling.db"
    db = create_database(path)
    db.execute("INSERT INTO kiln (name) VALUES ('Kiln')")
    db.close()
    wal = tmp_path / "lehrling.db-wal"
    wal.unlink(missing_ok=True)
    if waiting is not None:
        wal.write_bytes(waiting)
    reader = open_unwritable(path)
    assert [row["name"] for row in reader.query("SELECT name FROM kiln")] == ["Kiln"]
    with pytest.raises(sqlite3.OperationalError, match="readonly"):
        reader.execute("INSERT INTO kiln (name) VALUES ('Other')")
    reader.close()


def test_a_file_with_commits_waiting_beside_it_is_not_read_without_them(tmp_path, unwritable):
    folder = tmp_path / "copy"
    folder.mkdir()
    db = create_database(tmp_path / "lehrling.db")
    db.execute("INSERT INTO kiln (name) VALUES ('Kiln')")
    for name in ("lehrling.db", "lehrling.db-wal"):  # as a power cut leaves them
        shutil.copyfile(tmp_path / name, folder / name)
    db.close()
    assert (folder / "lehrling.db-wal").stat().st_size
    with pytest.raises(sqlite3.OperationalError, match="unable to open"):
        open_unwritable(folder / "lehrling.db")
