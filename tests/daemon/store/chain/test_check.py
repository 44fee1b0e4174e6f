"""Every flipped bit, every lost row and every exchange in what is kept of a firing is found."""

from __future__ import annotations

import struct
from datetime import UTC
from itertools import combinations

import pytest

from daemon.store.chain import source_file

TABLES = {
    "reading": ("t_s", "temp_128", "below_128", "above_128", "fault", "firing_id"),
    "part": ("part_index", "step", "part", "start_s", "end_s", "rate_c_per_h", "mean_c"),
    "alert": ("no", "kind", "rank", "since_s", "raised_s", "cleared_s", "step", "named", "what", "meaning", "advice",
              "time_left_s", "pieces", "firing_id"),
    "transition": ("t_s", "wall_utc", "change", "kind", "rank", "what", "alert_id"),
    "said": ("t_s", "what", "firing_id"),
    "note": ("wall_utc", "text", "firing_id"),
    "judgement": ("wall_utc", "version", "told", "firing_id"),
    "firing": ("title", "opened_by", "started_utc", "start_boot_id", "start_clock_s", "speed", "glass",
               "thickness_mm", "faces", "ended_s", "ended_utc", "ended_by", "highest_128", "alert_base", "invented",
               "probe_id", "plan_id"),
    "gap": ("from_s", "to_s", "reason", "firing_id"),
    "clock_mark": ("t_s", "wall_utc", "boot_id", "clock_s", "synchronised", "firing_id"),
    "milestone": ("t_s", "name", "text", "step", "temp_c", "firing_id"),
    "outcome": ("words", "place", "note", "wall_utc", "firing_id"),
    "meter_reading": ("kwh", "wall_utc", "firing_id"),
    "source_file": ("name", "bytes", "kept_utc", "packed", "firing_id"),
    "piece": ("created_utc",),
    "plan": ("toml",),
    "probe": ("name", "thermocouple_type"),
    "link": ("no", "kind", "ref", "own", "head", "firing_id"),
}


def keys(db, table):
    """Return the columns that tell a row of a table from another."""
    return [row[1] for row in db.execute(f"PRAGMA table_info({table})") if row[5]]


def flips(value):
    """Yield a value with each of its bits flipped."""
    if isinstance(value, int):
        for bit in range(63):
            yield value ^ (1 << bit)
    elif isinstance(value, float):
        for bit in range(64):
            number = struct.unpack("<Q", struct.pack("<d", value))[0] ^ (1 << bit)
            yield struct.unpack("<d", struct.pack("<Q", number))[0]
    elif value is not None:
        raw = bytearray(value.encode() if isinstance(value, str) else value)
        for bit in range(8 * len(raw)):
            raw[bit // 8] ^= 1 << bit % 8
            yield bytes(raw)
            raw[bit // 8] ^= 1 << bit % 8


def states(db, look, firing_id):
    return look(db, firing_id).state


@pytest.fixture
def loose(small):
    """Return the small record with nothing that keeps a wrong value out, as a disk keeps none out."""
    db, firing_id = small
    for guard in ("foreign_keys = OFF", "ignore_check_constraints = ON", "synchronous = OFF"):
        db.execute(f"PRAGMA {guard}")
    return db, firing_id


@pytest.mark.slow
@pytest.mark.parametrize("table", TABLES)
def test_every_flipped_bit_is_found(loose, found, table):
    db, firing_id = loose
    assert found(db, firing_id).state == "whole"
    tried, source = 0, source_file.get(db, firing_id)
    where = " AND ".join(f"{key} IS ?" for key in keys(db, table))
    for key in db.execute(f"SELECT {', '.join(keys(db, table))} FROM {table}").fetchall():
        for column in TABLES[table]:
            value = db.execute(f"SELECT {column} FROM {table} WHERE {where}", key).fetchone()[0]
            as_kept = "CAST(? AS TEXT)" if isinstance(value, str) else "?"
            for flipped in flips(value):
                db.execute("BEGIN")
                try:
                    changed = db.execute(
                        f"UPDATE OR IGNORE {table} SET {column} = {as_kept} WHERE {where}", [flipped, *key]).rowcount
                    if not changed or (isinstance(value, float) and flipped == value):
                        continue  # another row has that key; the file would be damaged, which SQLite itself says
                    if column == "packed" and source_file.get(db, firing_id) == source:
                        continue  # of the last byte not every bit counts; the file comes back as it was
                    assert found(db, firing_id).state == "changed", (column, key, value, flipped)
                    tried += 1
                finally:
                    db.rollback()
    assert tried > 40


@pytest.mark.parametrize("table", ["reading", "part", "alert", "transition", "said", "note", "judgement", "link",
                                   "gap", "clock_mark", "milestone", "outcome", "meter_reading", "source_file"])
def test_every_lost_row_is_found(loose, found, table):
    db, firing_id = loose
    where = " AND ".join(f"{key} IS ?" for key in keys(db, table))
    rows = db.execute(f"SELECT {', '.join(keys(db, table))} FROM {table}").fetchall()
    assert rows
    for key in rows:
        db.execute("BEGIN")
        assert db.execute(f"DELETE FROM {table} WHERE {where}", key).rowcount == 1
        assert found(db, firing_id).state == "changed", (table, key)
        db.rollback()
    assert found(db, firing_id).state == "whole"


def test_any_two_readings_and_any_two_links_exchanged_are_found(loose, found):
    db, firing_id = loose
    for table, key, columns in (("reading", "t_s", "temp_128, below_128, above_128, fault"),
                                ("link", "no", "kind, ref, own, head")):
        rows = {row[0]: row[1:] for row in db.execute(f"SELECT {key}, {columns} FROM {table}")}
        for one, other in combinations(rows, 2):
            if rows[one] == rows[other]:
                continue
            db.execute("BEGIN")
            for at, values in ((one, rows[other]), (other, rows[one])):
                db.execute(f"UPDATE {table} SET ({columns}) = ({', '.join('?' * len(values))}) WHERE {key} = ?",
                           [*values, at])
            assert found(db, firing_id).state == "changed", (table, one, other)
            db.rollback()


def test_whole_ten_minutes_exchanged_are_found_and_named(loose, found):
    db, firing_id = loose
    db.execute("UPDATE reading SET t_s = t_s + 100000 WHERE t_s < 600")
    db.execute("UPDATE reading SET t_s = t_s - 600 WHERE t_s >= 600 AND t_s < 1200")
    db.execute("UPDATE reading SET t_s = t_s - 99400 WHERE t_s >= 100000")
    said = found(db, firing_id).sentences(UTC)
    assert said == ["The readings from 0:00 to 0:20 (20:00 to 20:20) were changed."]


@pytest.mark.parametrize(("harm", "said"), [
    ("UPDATE reading SET temp_128 = temp_128 + 1 WHERE t_s = 750",
     ["The readings from 0:10 to 0:20 (20:10 to 20:20) were changed."]),
    ("DELETE FROM reading WHERE t_s >= 600 AND t_s < 1200",
     ["The readings from 0:10 to 0:20 (20:10 to 20:20) are missing."]),
    ("INSERT INTO reading (firing_id, t_s, temp_128) VALUES (1, 5000, 1)",
     ["The readings from 1:20 to 1:30 (21:20 to 21:30) were added beside the chain."]),
    ("UPDATE link SET head = zeroblob(32) WHERE kind = 'readings' AND ref = 1",
     ["The readings from 0:10 to 0:20 (20:10 to 20:20) have a link that was changed, moved or cut off from the one "
      "before."]),
    ("UPDATE note SET text = 'Vent shut.' WHERE note_id = 2", ["Note 2 was changed after it was kept."]),
    ("UPDATE alert SET advice = 'Nothing.'", ["Alert 1 was changed after it was kept."]),
    ("UPDATE firing SET title = 'Dish'",
     ["Title, times, plan or load was changed after it was kept."]),
    ("UPDATE outcome SET words = '[\"haze\"]' WHERE outcome_id = 2", ["Outcome 2 was changed after it was kept."]),
    ("DELETE FROM gap", ["The gap at second 600 is missing."]),
    ("UPDATE meter_reading SET kwh = 9", ["What a meter showed was changed after it was kept."]),
    ("UPDATE clock_mark SET synchronised = 0", ["What the clock said at second 0 was changed after it was kept."]),
    ("INSERT INTO milestone (firing_id, t_s, name, text) VALUES (1, 5, 'x', 'y')",
     ["The list of what it reached was changed after it was kept."]),
    ("UPDATE source_file SET packed = zeroblob(40)", ["The file of another logger was changed after it was kept."]),
    ("DELETE FROM link", ["Its chain is gone."]),
])
def test_what_is_wrong_is_said_with_its_place(loose, found, harm, said):
    db, firing_id = loose
    db.execute(harm)
    assert found(db, firing_id).sentences(UTC) == said


def test_a_number_that_is_gone_is_missed(loose, found, open_one):
    db, firing_id = loose
    open_one()
    for table in ("reading", "part", "transition", "alert", "said", "note", "judgement", "link", "gap", "clock_mark",
                  "milestone", "outcome", "meter_reading", "source_file", "firing"):
        db.execute(f"DELETE FROM {table}" + ("" if table == "transition" else f" WHERE firing_id = {firing_id}"))
    assert found(db, firing_id).state == "missing"
