"""The mark of a record: the head of its chain as it is printed, and as it is typed again."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from daemon.store import notes
from daemon.store.safety import record_mark


def test_another_entry_gives_another_mark(db, open_one):
    firing_id = open_one()
    before = record_mark.head(db, firing_id)
    assert record_mark.head(db, firing_id) == before
    notes.add_note(db, firing_id, "Vent open.", datetime(2026, 3, 1, tzinfo=UTC))
    assert record_mark.head(db, firing_id) != before


def test_where_no_firing_is_there_is_no_mark(db, open_one):
    assert record_mark.head(db, open_one() + 1) is None


def test_a_mark_is_printed_in_four_groups_of_five():
    # By hand: 0x0123456789 is 00000 00100 10001 10100 01010 11001 11100 01001 in fives: 0, 4, 17, 20, 10, 25, 28, 9.
    assert record_mark.short("0123456789abcdef" * 4) == "04HMA SW9NF 6YY09 38NKR"
    assert record_mark.short("f" * 64) == "ZZZZZ ZZZZZ ZZZZZ ZZZZZ"
    assert record_mark.short("0" * 24 + "1" + "0" * 39) == "00000 00000 00000 00001"


@pytest.mark.parametrize("text", ["04HMA SW9NF 6YY09 38NKR", "04hma-sw9nf-6yy09-38nkr", " o4HMASW9NF6YYO9 38NKR "])
def test_a_mark_is_read_as_people_type_it(text):
    assert record_mark.typed(text) == "04HMA SW9NF 6YY09 38NKR"


@pytest.mark.parametrize("text", ["", "04HMA SW9NF 6YY09", "04HMA SW9NF 6YY09 38NKU", "04HMA SW9NF 6YY09 38NKR 0"])
def test_what_is_no_mark_is_none(text):
    assert record_mark.typed(text) is None
