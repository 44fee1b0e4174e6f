"""A record with copies and photographs, and places to take them to."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from daemon.copies.folder import FolderPlace
from daemon.firing.events import Sample
from daemon.store import firings, kilns, readings
from daemon.store.database import create_database
from daemon.store.safety.copies import make_copy

NIGHT = datetime(2026, 3, 1, 4, 20, tzinfo=UTC)


@pytest.fixture
def record(tmp_path, made_once):
    """Return the path of a record with one firing and two photographs."""
    return begun(tmp_path / "data", "Studio kiln", made_once("a record to copy", _made))


def begun(data, kiln, file=None):
    """Begin a record of a kiln in a folder; return its path.

    Without ``file``, that of a record made before, it is another record, with a mark of its own.
    """
    data.mkdir()
    if file is None:
        _make(data, kiln)
    else:
        (data / "lehrling.db").write_bytes(file)
    (data / "photographs").mkdir()
    for mark in ("aa11", "bb22"):
        (data / "photographs" / f"{mark}-whole.jpg").write_bytes(b"\xff\xd8" + mark.encode() * 500)
    return data / "lehrling.db"


def _made():
    """Make the record of the fixture once; return its file."""
    with TemporaryDirectory() as folder:
        _make(Path(folder), "Studio kiln")
        return Path(folder, "lehrling.db").read_bytes()


def _make(data, kiln):
    """Make a record with one firing in a folder."""
    db = create_database(data / "lehrling.db")
    kiln_id = kilns.kiln_id(db, kiln)
    firing_id = firings.open_firing(
        db, kiln_id=kiln_id, probe_id=kilns.probe_id(db, kiln_id, "hand", "K"), title="Bowl", opened_by="maker",
        started_utc=NIGHT, boot_id="a", clock_s=0.0)
    readings.append(db, firing_id, [Sample(5.0 * i, 500.0 + i / 128) for i in range(300)])
    db.close()


@pytest.fixture
def copy_of(record):
    """Return a function that makes the copy of a night."""
    return lambda night=0: make_copy(record, NIGHT + timedelta(days=night))


@pytest.fixture
def there(tmp_path):
    """Return the folder that copies go to."""
    folder = tmp_path / "stick"
    folder.mkdir()
    return folder


@pytest.fixture
def stick(there):
    """Return the place in it."""
    return FolderPlace("the stick KILN", there, lambda: 0.0)


@pytest.fixture
def pictures(record):
    """Return the photographs beside the record."""
    return sorted((record.parent / "photographs").glob("*.jpg"))
