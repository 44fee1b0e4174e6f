"""The tables of the studio's database, as numbered steps; a step that was published is never changed."""

from __future__ import annotations

STEPS = (
    """
CREATE DOMAIN lehrling.words AS text COLLATE "C";

CREATE TABLE lehrling.box (
    box integer GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    name text NOT NULL,
    began_utc text NOT NULL,
    closed_utc text,
    kiln text NOT NULL DEFAULT '',
    lehrling text NOT NULL DEFAULT '',
    state text,
    state_age_s float8,
    heard_utc text,
    trouble text NOT NULL DEFAULT '',
    firings_mark text NOT NULL DEFAULT '',
    studio_mark text NOT NULL DEFAULT ''
);

CREATE UNIQUE INDEX one_open_box_of_a_name ON lehrling.box (name) WHERE closed_utc IS NULL;

CREATE TABLE lehrling.firing (
    box integer NOT NULL REFERENCES lehrling.box,
    firing_id bigint NOT NULL,
    last_no integer NOT NULL,
    head bytea NOT NULL,
    state text NOT NULL CHECK (state IN ('open', 'ended', 'emptied')),
    beside json NOT NULL DEFAULT '{}',
    beside_mark text NOT NULL DEFAULT '',
    thinned bytea,
    PRIMARY KEY (box, firing_id)
);

CREATE TABLE lehrling.link (
    box integer NOT NULL,
    firing_id bigint NOT NULL,
    no integer NOT NULL,
    kind text NOT NULL,
    ref bigint NOT NULL,
    own bytea NOT NULL,
    head bytea NOT NULL,
    PRIMARY KEY (box, firing_id, no)
);

CREATE TABLE lehrling.kept (
    box integer NOT NULL,
    firing_id bigint NOT NULL,
    kind text NOT NULL,
    ref bigint NOT NULL,
    content json NOT NULL,
    PRIMARY KEY (box, firing_id, kind, ref)
);

CREATE TABLE lehrling.reading (
    box integer NOT NULL,
    firing_id bigint NOT NULL,
    t_s integer NOT NULL,
    temp_128 integer,
    below_128 integer,
    above_128 integer,
    fault integer,
    PRIMARY KEY (box, firing_id, t_s)
);

CREATE TABLE lehrling.thing (
    box integer NOT NULL REFERENCES lehrling.box,
    kind text NOT NULL,
    number bigint NOT NULL,
    content json NOT NULL,
    PRIMARY KEY (box, kind, number)
)
""",
)
"""Each is a step, from 1 on.

``box`` is one record at one address; ``closed_utc`` says since when another record is there. ``firing.last_no`` and
``head`` are the mark: the last link that was taken. ``kept`` holds what a link is of, readings left aside; ``beside``
what is kept outside the chain. ``thing`` holds kilns, probes, plans, pieces, changed parts and calibrations.
"""
HYPERTABLE = ("SELECT create_hypertable('lehrling.reading', 'firing_id', chunk_time_interval => {chunk},"
              " migrate_data => true)")
"""Where the extension TimescaleDB is there, readings are kept in chunks of this many numbers of firings. The number
grows with time, and it is in the key, as a hypertable asks."""
CHUNK_FIRINGS = 100
"""Numbers of firings in a chunk. [chosen: 30 kilns with 10,000 readings a firing make 30 million rows]"""
