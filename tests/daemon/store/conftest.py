from __future__ import annotations

from datetime import UTC, datetime

import pytest

from daemon.store import firings, kilns
from daemon.store.database import create_database

START_UTC = datetime(2026, 3, 1, 20, 0, 0, tzinfo=UTC)


@pytest.fixture
def db(tmp_path):
    database = create_database(tmp_path / "lehrling.db")
    yield database
    database.close()


@pytest.fixture
def open_one(db):
    """Return a function that opens a firing on one kiln, with any column given."""
    kiln = kilns.kiln_id(db, "Back room kiln")
    probe = kilns.probe_id(db, kiln, "bench", "K")

    def _open(**given):
        row = {"kiln_id": kiln, "probe_id": probe, "title": "Bowl", "opened_by": "maker",
               "started_utc": START_UTC, "boot_id": "boot-a", "clock_s": 100.0, **given}
        return firings.open_firing(db, **row)

    return _open
