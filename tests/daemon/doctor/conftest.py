"""A box on its table: a chip of registers behind the real driver, a clock turned by hand, a kernel of files."""

import json
from datetime import UTC, datetime

import pytest

from daemon.doctor import own_look
from daemon.doctor.computer import Computer
from daemon.doctor.places import Places
from daemon.service.state_reader import FILE_NAME as STATE_NAME
from daemon.store.stamps import stamp
from hw.bus import Bus
from hw.max31856 import Max31856
from simulations.plant.chip import Chip, Terminals
from simulations.plant.thermocouple import emf_mv

NOON = datetime(2026, 11, 29, 12, 0, tzinfo=UTC)


class Box:
    """The chip, the clock and the kernel's files that a test turns by hand; it is a Clock as well."""

    speed, boot_id = 1.0, "boot"

    def __init__(self, folder):
        self.s, self.wall, self.is_set = 0.0, NOON, True
        self.hot_c, self.cold_c, self.open, self.voltage, self.reversed = 22.0, 25.0, False, False, False
        self.chip = Chip(self._terminals, lambda: self.s, noise_mv=0.0)
        self.root, self.data, self.run = folder / "root", folder / "data", folder / "run"
        for place in (self.root, self.data, self.run):
            place.mkdir()
        self.kernel("sys/class/thermal/thermal_zone0/temp", "51234\n")
        self.computer, self.places = Computer(self.root), Places(self.data, self.run, self.data / "lehrling.toml")

    def _terminals(self):
        mv = emf_mv("K", self.hot_c) - emf_mv("K", self.cold_c)
        return Terminals(None if self.open else -mv if self.reversed else mv, self.cold_c, self.voltage)

    def opened(self, settings, now_s):
        return Max31856(Bus(self.chip.transfer), now_s=now_s, sleep=self.pass_s)

    def kernel(self, place, text):
        file = self.root / place
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)

    def pass_s(self, seconds):
        self.s += seconds

    def daemon_says(self, **fields):
        said = {"written_utc": stamp(self.wall), "temp_c": 21.5, "fault": None, "cold_junction_c": 24.0, "t_s": None,
                "firing_id": None, "trouble": []} | fields
        (self.run / STATE_NAME).write_text(json.dumps(said), encoding="utf-8")

    def now_s(self):
        return self.s

    def utc(self):
        return self.wall

    def synchronised(self):
        return self.is_set

    def sleep_until(self, deadline_s):
        self.s = max(self.s, deadline_s)


@pytest.fixture
def box(tmp_path, monkeypatch):
    found = Box(tmp_path)
    monkeypatch.setattr(own_look, "opener", lambda kind: found.opened)
    return found
