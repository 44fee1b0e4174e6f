"""The studio's run in its short form: three boxes, the real database and broker, all of it on loopback."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import pytest

from benchmarks.studio.cluster import programs
from benchmarks.studio.others import installed
from benchmarks.studio.run import SHORT, run

pytestmark = pytest.mark.slow


def test_each_entry_of_three_boxes_is_there_once_in_order_after_every_outage():
    if "CI" not in os.environ and (programs() is None or installed("mosquitto") is None):
        pytest.skip("Debian's postgresql or mosquitto is not installed")
    with tempfile.TemporaryDirectory(prefix="lehrling-studio-", dir="/tmp") as scratch:
        Path(scratch).chmod(0o711)  # PostgreSQL runs as a user of its own
        found = run(Path(scratch), SHORT)
    assert found["problems"] == []
    assert (found["boxes"], found["page_kilns"], found["mqtt_twice"]) == (3, 3, 0)
    assert found["collected"]["reading"] > 8000
    assert found["collected"]["transition"] == found["mqtt_steps"] > 10
