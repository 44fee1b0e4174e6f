"""The tables of the first migration, as SQL; never changed: a later migration changes them."""

from __future__ import annotations

FIRST_TABLES = """
CREATE TABLE kiln (
    kiln_id INTEGER PRIMARY KEY,
    name TEXT NOT NULL
) STRICT;

CREATE TABLE probe (
    probe_id INTEGER PRIMARY KEY,
    kiln_id INTEGER NOT NULL REFERENCES kiln,
    name TEXT NOT NULL,
    thermocouple_type TEXT NOT NULL
) STRICT;

CREATE TABLE plan (
    plan_id INTEGER PRIMARY KEY,
    title TEXT NOT NULL,
    version INTEGER NOT NULL,
    toml TEXT NOT NULL,
    created_utc TEXT NOT NULL,
    UNIQUE (title, version)
) STRICT;

CREATE TABLE piece (
    piece_id INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    glass TEXT NOT NULL,
    thickness_mm REAL NOT NULL,
    layers TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    created_utc TEXT NOT NULL
) STRICT;

CREATE TABLE firing (
    firing_id INTEGER PRIMARY KEY,
    kiln_id INTEGER NOT NULL REFERENCES kiln,
    probe_id INTEGER NOT NULL REFERENCES probe,
    plan_id INTEGER REFERENCES plan,
    title TEXT NOT NULL,
    opened_by TEXT NOT NULL CHECK (opened_by IN ('maker', 'climb')),
    started_utc TEXT NOT NULL,
    start_boot_id TEXT NOT NULL,
    start_clock_s REAL NOT NULL,
    speed REAL NOT NULL DEFAULT 1.0,
    glass TEXT NOT NULL,
    thickness_mm REAL NOT NULL,
    faces INTEGER NOT NULL DEFAULT 1 CHECK (faces IN (1, 2)),
    offset_c REAL,
    ended_s INTEGER,
    ended_utc TEXT,
    ended_by TEXT CHECK (ended_by IN ('maker', 'cold', 'next')),
    highest_128 INTEGER,
    alert_base INTEGER NOT NULL DEFAULT 0,
    invented INTEGER NOT NULL DEFAULT 0
) STRICT;

CREATE UNIQUE INDEX one_open_firing_a_kiln ON firing (kiln_id) WHERE ended_s IS NULL;

CREATE TABLE firing_piece (
    firing_id INTEGER NOT NULL REFERENCES firing,
    piece_id INTEGER NOT NULL REFERENCES piece,
    PRIMARY KEY (firing_id, piece_id)
) STRICT, WITHOUT ROWID;

CREATE INDEX firings_of_a_piece ON firing_piece (piece_id);

CREATE TABLE reading (
    firing_id INTEGER NOT NULL REFERENCES firing,
    t_s INTEGER NOT NULL,
    temp_128 INTEGER,
    below_128 INTEGER,
    above_128 INTEGER,
    fault INTEGER,
    PRIMARY KEY (firing_id, t_s)
) STRICT, WITHOUT ROWID;

CREATE TABLE gap (
    firing_id INTEGER NOT NULL REFERENCES firing,
    from_s INTEGER NOT NULL,
    to_s INTEGER NOT NULL,
    reason TEXT NOT NULL,
    PRIMARY KEY (firing_id, from_s)
) STRICT, WITHOUT ROWID;

CREATE TABLE clock_mark (
    firing_id INTEGER NOT NULL REFERENCES firing,
    t_s INTEGER NOT NULL,
    wall_utc TEXT NOT NULL,
    boot_id TEXT NOT NULL,
    clock_s REAL NOT NULL,
    synchronised INTEGER NOT NULL,
    PRIMARY KEY (firing_id, t_s)
) STRICT, WITHOUT ROWID;

CREATE TABLE said (
    said_id INTEGER PRIMARY KEY,
    firing_id INTEGER NOT NULL REFERENCES firing,
    t_s INTEGER NOT NULL,
    what TEXT NOT NULL,
    alert_no INTEGER,
    for_s REAL
) STRICT;

CREATE INDEX said_of_a_firing ON said (firing_id, t_s);

CREATE TABLE part (
    firing_id INTEGER NOT NULL REFERENCES firing,
    seq INTEGER NOT NULL,
    part_index INTEGER NOT NULL,
    step INTEGER NOT NULL,
    part TEXT NOT NULL CHECK (part IN ('ramp', 'hold')),
    start_s REAL NOT NULL,
    end_s REAL,
    rate_c_per_h REAL,
    mean_c REAL,
    PRIMARY KEY (firing_id, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE alert (
    alert_id INTEGER PRIMARY KEY,
    firing_id INTEGER NOT NULL REFERENCES firing,
    no INTEGER NOT NULL,
    kind TEXT NOT NULL,
    rank TEXT NOT NULL CHECK (rank IN ('wake', 'look', 'log')),
    since_s REAL NOT NULL,
    raised_s REAL NOT NULL,
    woke_s REAL,
    cleared_s REAL,
    acknowledged_s REAL,
    step INTEGER,
    under TEXT,
    named TEXT NOT NULL DEFAULT '[]',
    what TEXT NOT NULL,
    meaning TEXT NOT NULL,
    advice TEXT NOT NULL,
    time_left_s REAL,
    UNIQUE (firing_id, no)
) STRICT;

CREATE TABLE transition (
    transition_id INTEGER PRIMARY KEY,
    alert_id INTEGER NOT NULL REFERENCES alert,
    t_s REAL NOT NULL,
    wall_utc TEXT NOT NULL,
    change TEXT NOT NULL,
    kind TEXT NOT NULL,
    rank TEXT NOT NULL,
    what TEXT NOT NULL
) STRICT;

CREATE INDEX transitions_of_an_alert ON transition (alert_id);

CREATE TABLE milestone (
    firing_id INTEGER NOT NULL REFERENCES firing,
    t_s REAL NOT NULL,
    name TEXT NOT NULL,
    text TEXT NOT NULL,
    step INTEGER,
    PRIMARY KEY (firing_id, t_s, name)
) STRICT, WITHOUT ROWID;

CREATE TABLE outbox (
    outbox_id INTEGER PRIMARY KEY,
    transition_id INTEGER NOT NULL REFERENCES transition,
    channel TEXT NOT NULL,
    title TEXT NOT NULL,
    body TEXT NOT NULL,
    created_utc TEXT NOT NULL
) STRICT;

CREATE INDEX messages_of_a_transition ON outbox (transition_id);

CREATE TABLE delivery (
    outbox_id INTEGER PRIMARY KEY REFERENCES outbox,
    tries INTEGER NOT NULL,
    next_try_utc TEXT,
    sent_utc TEXT,
    error TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE TABLE request (
    request_id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    payload TEXT NOT NULL,
    wall_utc TEXT NOT NULL,
    expires_utc TEXT NOT NULL,
    taken_utc TEXT,
    outcome TEXT
) STRICT;

CREATE INDEX requests_not_taken ON request (request_id) WHERE taken_utc IS NULL;

CREATE TABLE note (
    note_id INTEGER PRIMARY KEY,
    firing_id INTEGER NOT NULL REFERENCES firing,
    wall_utc TEXT NOT NULL,
    text TEXT NOT NULL
) STRICT;

CREATE INDEX notes_of_a_firing ON note (firing_id);

CREATE TABLE setting (
    key TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID
"""
