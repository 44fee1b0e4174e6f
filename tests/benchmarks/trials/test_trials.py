"""The short form of each trial; ``docs/develop/running.md`` has the long ones."""

from __future__ import annotations

import importlib
import os
import shutil
from pathlib import Path

import pytest

from benchmarks.trials.__main__ import NAMES
from benchmarks.trials.writes import why_not

LEAST = {
    "kill-every-write": {"looked_at": 60, "notes": 3, "firing_s": 150},
    "stopped": {"alerts": 2, "messages": 3, "readings": 50},
    "no-network": {"written": 8, "tries_meanwhile": 1},
    "network-away": {"wakes": 9, "sounded_again": 20, "tries_meanwhile": 50, "kills": 2, "twice": 1},
    "older-record": {"readings_before": 100, "gone_on_s": 540},
    "bad-sector": {"tried": 4, "copy_took_its_place": 1},
    "sixty-days": {"readings": 300, "copies": 1},
}
"""What a trial must have had to do with, so that it can be said to have tried anything."""


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_lost_nor_told_twice(name, tmp_path):
    if name == "kill-every-write" and why_not():
        pytest.skip(why_not())
    memory = Path("/dev/shm")
    folder = memory / f"lehrling-trial-{os.getpid()}" if memory.is_dir() else tmp_path / "trial"
    folder.mkdir()
    try:
        found = importlib.import_module(f"benchmarks.trials.{name.replace('-', '_')}").run(folder, short=True)
    finally:
        shutil.rmtree(folder)
    assert found["problems"] == []
    assert all(found[key] >= least for key, least in LEAST[name].items()), found
