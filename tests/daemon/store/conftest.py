"""What tests of the store share."""

from __future__ import annotations

import pytest


@pytest.fixture
def path(tmp_path, empty_database):
    """Return where an empty record lies."""
    (tmp_path / "lehrling.db").write_bytes(empty_database)
    return tmp_path / "lehrling.db"
