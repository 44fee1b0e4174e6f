"""The invented studio as it is seeded, made once: its past firings are simulated and judged."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from daemon.store.database import create_database
from simulations.studio.seed import seed_studio


@pytest.fixture(scope="session")
def seeded_utc() -> datetime:
    """Return when the studio was seeded."""
    return datetime(2026, 3, 4, 20, 15, tzinfo=UTC)


@pytest.fixture(scope="session")
def seeded_database(made_once, seeded_utc) -> bytes:
    """Return the file of a database with the seeded studio in it."""
    def make() -> bytes:
        with TemporaryDirectory() as folder:
            path = Path(folder, "lehrling.db")
            db = create_database(path)
            seed_studio(db, seeded_utc)
            db.close()
            return path.read_bytes()

    return made_once(("seeded studio", seeded_utc), make)
