"""The schema's history, append-only; only the daemon applies it."""

from __future__ import annotations

import sqlite_utils
from sqlite_utils.migrations import Migrations

from daemon.store.schema.first_tables import FIRST_TABLES
from daemon.store.schema.plan_words import plan_words
from daemon.store.schema.search_index import STATEMENTS

MIGRATIONS = Migrations("lehrling")


@MIGRATIONS()
def m001_first_house(db: sqlite_utils.Database) -> None:
    """Kilns, probes, plans, pieces, firings with their traces, alerts, requests and deliveries.

    Temperatures of readings are integers of 1/128 °C, the chip's own step, so that the stored figure is
    the raw one. Times of a firing are whole seconds from its start; wall times are RFC 3339 in UTC.
    ``firing.alert_base`` is the highest alert number of earlier judgements: where a firing got another
    plan, the alerts up to it were raised under the old one.
    """
    _execute(db, FIRST_TABLES)


@MIGRATIONS()
def m_pieces_as_made(db: sqlite_utils.Database) -> None:
    """Keep what a piece is made of and how it came out, its photographs, and what a firing was judged to be.

    ``outcome`` and ``judgement`` are never changed: a later row of the same firing (and piece) stands. A
    photograph's files lie in the folder ``photographs`` under ``mark``, the hash of the re-encoded picture;
    ``removed_utc`` takes one out of sight, until it is brought back.
    """
    _execute(db, _PIECES_AS_MADE)


_PIECES_AS_MADE = """
ALTER TABLE piece ADD COLUMN thinnest_mm REAL;
ALTER TABLE piece ADD COLUMN separator TEXT NOT NULL DEFAULT '';
ALTER TABLE piece ADD COLUMN drying_from_utc TEXT;
ALTER TABLE piece ADD COLUMN dry_by_utc TEXT;

CREATE TABLE outcome (
    outcome_id INTEGER PRIMARY KEY,
    firing_id INTEGER NOT NULL REFERENCES firing,
    piece_id INTEGER NOT NULL REFERENCES piece,
    words TEXT NOT NULL,
    place TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    wall_utc TEXT NOT NULL
) STRICT;

CREATE INDEX outcomes_of_a_firing ON outcome (firing_id, piece_id);
CREATE INDEX outcomes_of_a_piece ON outcome (piece_id);

CREATE TABLE photograph (
    photograph_id INTEGER PRIMARY KEY,
    piece_id INTEGER REFERENCES piece,
    firing_id INTEGER REFERENCES firing,
    moment TEXT NOT NULL CHECK (moment IN ('before', 'after')),
    mark TEXT NOT NULL,
    width INTEGER NOT NULL,
    height INTEGER NOT NULL,
    caption TEXT NOT NULL DEFAULT '',
    wall_utc TEXT NOT NULL,
    removed_utc TEXT
) STRICT;

CREATE INDEX photographs_of_a_piece ON photograph (piece_id);
CREATE INDEX photographs_of_a_firing ON photograph (firing_id);

CREATE TABLE judgement (
    judgement_id INTEGER PRIMARY KEY,
    firing_id INTEGER NOT NULL REFERENCES firing,
    wall_utc TEXT NOT NULL,
    version TEXT NOT NULL,
    told TEXT NOT NULL
) STRICT;

CREATE INDEX judgements_of_a_firing ON judgement (firing_id)
"""


@MIGRATIONS()
def m_piece_colour(db: sqlite_utils.Database) -> None:
    """Keep whether a piece carries colour that burns out: '', 'high-fire' or 'low-fire' enamel or decal."""
    db.execute("ALTER TABLE piece ADD COLUMN colour TEXT NOT NULL DEFAULT ''")


@MIGRATIONS()
def m_messages_of_other_kinds(db: sqlite_utils.Database) -> None:
    """Let messages be about more than alerts: milestones, a test, a daily word, a return after an absence.

    ``about`` says what; ``rank`` how loudly. Of an alert's message the transition tells both.
    """
    _execute(db, _MESSAGES_OF_OTHER_KINDS)


_MESSAGES_OF_OTHER_KINDS = """
CREATE TABLE old_delivery AS SELECT * FROM delivery;
DROP TABLE delivery;
CREATE TABLE old_outbox AS SELECT * FROM outbox;
DROP TABLE outbox;

CREATE TABLE outbox (
    outbox_id INTEGER PRIMARY KEY,
    transition_id INTEGER REFERENCES transition,
    channel TEXT NOT NULL,
    title TEXT NOT NULL,
    body TEXT NOT NULL,
    created_utc TEXT NOT NULL,
    about TEXT NOT NULL DEFAULT 'alert' CHECK (about IN ('alert', 'milestone', 'test', 'awake', 'back')),
    rank TEXT NOT NULL DEFAULT 'look' CHECK (rank IN ('look', 'wake')),
    CHECK ((transition_id IS NOT NULL) = (about = 'alert'))
) STRICT;

CREATE INDEX messages_of_a_transition ON outbox (transition_id);

CREATE TABLE delivery (
    outbox_id INTEGER PRIMARY KEY REFERENCES outbox,
    tries INTEGER NOT NULL,
    next_try_utc TEXT,
    sent_utc TEXT,
    error TEXT NOT NULL DEFAULT ''
) STRICT;

INSERT INTO outbox (outbox_id, transition_id, channel, title, body, created_utc)
    SELECT outbox_id, transition_id, channel, title, body, created_utc FROM old_outbox;
INSERT INTO delivery SELECT * FROM old_delivery;
DROP TABLE old_outbox;
DROP TABLE old_delivery
"""


@MIGRATIONS()
def m_calls(db: sqlite_utils.Database) -> None:
    """Keep at which temperature the maker asked to be called."""
    db.execute("ALTER TABLE said ADD COLUMN temp_c REAL")


@MIGRATIONS()
def m_asked_once_and_deleted(db: sqlite_utils.Database) -> None:
    """Take each form that asks for something once, by its token; and let a firing be deleted into a bin.

    ``binned_utc`` says since when a firing lies there, ``emptied_utc`` that its readings and all that was kept of it
    are gone; its row stays, so that its number never means another firing.
    """
    _execute(db, _ASKED_ONCE_AND_DELETED)


_ASKED_ONCE_AND_DELETED = """
ALTER TABLE request ADD COLUMN token TEXT;
CREATE UNIQUE INDEX tokens_of_requests ON request (token) WHERE token IS NOT NULL;
ALTER TABLE firing ADD COLUMN binned_utc TEXT;
ALTER TABLE firing ADD COLUMN emptied_utc TEXT
"""


@MIGRATIONS()
def m_during_and_whole_loads(db: sqlite_utils.Database) -> None:
    """Let a photograph be taken during a firing, and an outcome be of a whole load: ``piece_id`` is null then."""
    _execute(db, _DURING_AND_WHOLE_LOADS)


_DURING_AND_WHOLE_LOADS = """
CREATE TABLE new_outcome (
    outcome_id INTEGER PRIMARY KEY,
    firing_id INTEGER NOT NULL REFERENCES firing,
    piece_id INTEGER REFERENCES piece,
    words TEXT NOT NULL,
    place TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT '',
    wall_utc TEXT NOT NULL
) STRICT;

INSERT INTO new_outcome SELECT outcome_id, firing_id, piece_id, words, place, note, wall_utc FROM outcome;
DROP TABLE outcome;
ALTER TABLE new_outcome RENAME TO outcome;
CREATE INDEX outcomes_of_a_firing ON outcome (firing_id, piece_id);
CREATE INDEX outcomes_of_a_piece ON outcome (piece_id);

CREATE TABLE new_photograph (
    photograph_id INTEGER PRIMARY KEY,
    piece_id INTEGER REFERENCES piece,
    firing_id INTEGER REFERENCES firing,
    moment TEXT NOT NULL CHECK (moment IN ('before', 'during', 'after')),
    mark TEXT NOT NULL,
    width INTEGER NOT NULL,
    height INTEGER NOT NULL,
    caption TEXT NOT NULL DEFAULT '',
    wall_utc TEXT NOT NULL,
    removed_utc TEXT
) STRICT;

INSERT INTO new_photograph SELECT photograph_id, piece_id, firing_id, moment, mark, width, height, caption, wall_utc,
    removed_utc FROM photograph;
DROP TABLE photograph;
ALTER TABLE new_photograph RENAME TO photograph;
CREATE INDEX photographs_of_a_piece ON photograph (piece_id);
CREATE INDEX photographs_of_a_firing ON photograph (firing_id)
"""


@MIGRATIONS()
def m_words_in_pieces(db: sqlite_utils.Database) -> None:
    """Keep what an alert said in pieces and in both units, as JSON; and the temperature that a milestone names.

    A plan that was made for the rest of one firing, from lines keyed in, says which; it is offered for no other.
    """
    db.execute("ALTER TABLE alert ADD COLUMN pieces TEXT NOT NULL DEFAULT '{}'")
    db.execute("ALTER TABLE milestone ADD COLUMN temp_c REAL")
    db.execute("ALTER TABLE plan ADD COLUMN only_for INTEGER REFERENCES firing")


@MIGRATIONS()
def m_retired_plans(db: sqlite_utils.Database) -> None:
    """Keep when a plan was retired: it is not offered any more, and firings by it keep it."""
    db.execute("ALTER TABLE plan ADD COLUMN retired_utc TEXT")


@MIGRATIONS()
def m_heat_and_changed_parts(db: sqlite_utils.Database) -> None:
    """Keep what the heat of a firing came to, what a meter showed, and when elements and thermocouple were changed.

    ``heat_use`` can be reckoned again from the readings: ``method`` says by which rules it was, ``judgement_id`` upon
    which judgement; ``why`` says why nothing could be. ``part_change.day`` is a date of the owner's calendar;
    ``removed_utc`` takes a change out of sight, until it is brought back.
    """
    _execute(db, _HEAT_AND_CHANGED_PARTS)


_HEAT_AND_CHANGED_PARTS = """
CREATE TABLE heat_use (
    firing_id INTEGER PRIMARY KEY REFERENCES firing,
    judgement_id INTEGER NOT NULL,
    method INTEGER NOT NULL,
    hot_s REAL NOT NULL,
    kelvin_h REAL,
    most_k REAL,
    full_k REAL,
    why TEXT,
    CHECK ((kelvin_h IS NULL) = (why IS NOT NULL))
) STRICT;

CREATE TABLE meter_reading (
    firing_id INTEGER PRIMARY KEY REFERENCES firing,
    kwh REAL NOT NULL,
    wall_utc TEXT NOT NULL
) STRICT;

CREATE TABLE part_change (
    part_change_id INTEGER PRIMARY KEY,
    kiln_id INTEGER NOT NULL REFERENCES kiln,
    part TEXT NOT NULL CHECK (part IN ('elements', 'thermocouple')),
    day TEXT NOT NULL,
    note TEXT NOT NULL DEFAULT '',
    wall_utc TEXT NOT NULL,
    removed_utc TEXT
) STRICT;

CREATE INDEX changes_of_a_kiln ON part_change (kiln_id, day)
"""


@MIGRATIONS()
def m_calibrations(db: sqlite_utils.Database) -> None:
    """Keep how the thermocouple compared with ice, boiling water or another instrument.

    ``plus_minus_k`` is the expanded uncertainty of ``reading_c - reference_c``, k = 2; the four below it are the
    standard uncertainties that it is made of. ``part_change_id`` is the change that brought in the thermocouple, null
    where none was noted. No reading is ever changed by a row here. ``removed_utc`` takes it out of use, not away.
    """
    _execute(db, _CALIBRATIONS)


_CALIBRATIONS = """
CREATE TABLE calibration (
    calibration_id INTEGER PRIMARY KEY,
    kiln_id INTEGER NOT NULL REFERENCES kiln,
    part_change_id INTEGER REFERENCES part_change,
    thermocouple_type TEXT NOT NULL,
    tolerance_class INTEGER CHECK (tolerance_class IN (1, 2)),
    method TEXT NOT NULL CHECK (method IN ('ice', 'boiling', 'hold')),
    said TEXT NOT NULL DEFAULT '',
    reference_c REAL NOT NULL,
    reading_c REAL NOT NULL,
    cold_junction_c REAL,
    readings INTEGER NOT NULL,
    plus_minus_k REAL NOT NULL,
    reference_k REAL NOT NULL,
    noise_k REAL NOT NULL,
    steadiness_k REAL NOT NULL,
    step_k REAL NOT NULL,
    wall_utc TEXT NOT NULL,
    removed_utc TEXT
) STRICT;

CREATE INDEX calibrations_of_a_kiln ON calibration (kiln_id, wall_utc)
"""


@MIGRATIONS()
def m_thinned_trace(db: sqlite_utils.Database) -> None:
    """Keep of each firing that has ended its trace in some hundred stretches, for its page and its drawings.

    It can be made again from the readings. ``stretches`` is packed by zlib: whole numbers of four bytes, the least
    significant first, of each stretch its second, then of each its lowest, its mean and its highest temperature in
    steps of 1/128 °C.
    """
    db.execute("CREATE TABLE thinned_trace (firing_id INTEGER PRIMARY KEY REFERENCES firing, stretches BLOB NOT NULL)"
               " STRICT")


@MIGRATIONS()
def m_chain(db: sqlite_utils.Database) -> None:
    """Keep a chain of hashes over each firing; firings that are there already get theirs at night.

    ``own`` is the SHA-256 of what a link is of, ``head`` that of the chain up to it (daemon/store/chain/links.py).
    Where firings are there already, the setting says which one is the first that has its chain
    from its first reading on.
    """
    _execute(db, _CHAIN)


_CHAIN = """
CREATE TABLE link (
    firing_id INTEGER NOT NULL REFERENCES firing,
    no INTEGER NOT NULL,
    kind TEXT NOT NULL,
    ref INTEGER NOT NULL,
    own BLOB NOT NULL,
    head BLOB NOT NULL,
    PRIMARY KEY (firing_id, no)
) STRICT, WITHOUT ROWID;

INSERT INTO setting (key, value)
    SELECT 'first_firing_with_chain', CAST((SELECT max(firing_id) FROM firing) + 1 AS TEXT)
    WHERE EXISTS (SELECT 1 FROM firing)
"""


@MIGRATIONS()
def m_words_that_are_found(db: sqlite_utils.Database) -> None:
    """Index what was written in titles, pieces, plans, notes and outcomes; ``plan.words`` are those of its steps.

    The index can be made again from the tables.
    """
    db.execute("ALTER TABLE plan ADD COLUMN words TEXT NOT NULL DEFAULT ''")
    for plan_id, toml in db.execute("SELECT plan_id, toml FROM plan").fetchall():
        db.execute("UPDATE plan SET words = ? WHERE plan_id = ?", [plan_words(toml), plan_id])
    for statement in STATEMENTS:
        db.execute(statement)


@MIGRATIONS()
def m_learned_kiln(db: sqlite_utils.Database) -> None:
    """Keep what was learned of each kiln from its firings.

    It can be made again from the readings. ``sources`` is JSON: of each firing that was looked at its number, a mark
    that changes with what the kiln is learned from, and 1 where it was used. ``model`` is JSON in seconds and
    kelvins, empty where nothing could be learned; ``method`` numbers the rules.
    """
    db.execute("CREATE TABLE learned_kiln (kiln_id INTEGER PRIMARY KEY REFERENCES kiln, probe_id INTEGER NOT NULL"
               " REFERENCES probe, sources TEXT NOT NULL, model TEXT NOT NULL, method INTEGER NOT NULL,"
               " wall_utc TEXT NOT NULL) STRICT")


@MIGRATIONS()
def m_source_file(db: sqlite_utils.Database) -> None:
    """Keep the file of another logger with the firing that was taken in from it: its bytes, packed by zlib."""
    _execute(db, _SOURCE_FILE)


_SOURCE_FILE = """
CREATE TABLE source_file (
    firing_id INTEGER PRIMARY KEY REFERENCES firing,
    name TEXT NOT NULL,
    bytes INTEGER NOT NULL,
    kept_utc TEXT NOT NULL,
    packed BLOB NOT NULL
) STRICT
"""


@MIGRATIONS()
def m_known_kiln(db: sqlite_utils.Database) -> None:
    """Keep what the watches knew of the kiln when a firing began, as JSON in seconds and kelvins.

    A firing without a row is judged as if its kiln were met for the first time.
    """
    db.execute("CREATE TABLE known_kiln (firing_id INTEGER PRIMARY KEY REFERENCES firing, told TEXT NOT NULL) STRICT")


def _execute(db: sqlite_utils.Database, script: str) -> None:
    """Run the statements of ``script`` in the migration's own transaction, which ``executescript`` would end."""
    for statement in script.split(";"):
        if statement.strip():
            db.execute(statement)
