"""The mark of a record: the same for the same readings, another one for any reading changed, dropped or moved."""

from __future__ import annotations

from hashlib import sha256

import pytest

from daemon.firing.events import Sample
from daemon.store import readings
from daemon.store.safety import record_mark


@pytest.fixture
def sealed(db, open_one):
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(float(t), 20.0 + t / 10, low_c=19.5 + t / 10, high_c=20.5 + t / 10)
                                    for t in range(0, 3000, 5)])
    return db, firing_id


def test_the_mark_is_a_chain_of_hashes_over_ten_minutes_each(db, open_one):
    # Reckoned here by hand from the description: start, then two links.
    firing_id = open_one()
    readings.append(db, firing_id, [Sample(5.0, 20.0), Sample(595.0, None, "open"), Sample(600.0, 21.0),
                                    Sample(1195.0, 22.0)])
    started = db.execute("SELECT started_utc FROM firing").fetchone()[0]
    link = sha256(started.encode()).hexdigest()
    link = sha256(f"{link}\n5,2560,,,\n595,,,,1".encode()).hexdigest()
    assert record_mark.head(db, firing_id) == sha256(f"{link}\n600,2688,,,\n1195,2816,,,".encode()).hexdigest()


@pytest.mark.parametrize("harm", [
    "UPDATE reading SET temp_128 = temp_128 + 1 WHERE t_s = 5",
    "UPDATE reading SET below_128 = below_128 + 1 WHERE t_s = 1500",
    "DELETE FROM reading WHERE t_s = 2995",
    "DELETE FROM reading WHERE t_s < 5",
    "UPDATE reading SET t_s = 2996 WHERE t_s = 2995",
    "UPDATE firing SET started_utc = '2001-01-01T00:00:00Z'",
])
def test_any_harm_to_the_readings_changes_the_mark(sealed, harm):
    db, firing_id = sealed
    before = record_mark.head(db, firing_id)
    assert record_mark.head(db, firing_id) == before
    db.execute(harm)
    assert record_mark.head(db, firing_id) != before


def test_where_nothing_was_read_there_is_no_mark(db, open_one):
    firing_id = open_one()
    assert record_mark.head(db, firing_id) is None
    assert record_mark.head(db, firing_id + 1) is None


def test_a_mark_is_printed_short():
    assert record_mark.short("0123456789abcdef" * 4) == "0123 4567 89ab cdef"
