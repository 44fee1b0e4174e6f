"""A probe that can't be opened is waited for, and it is said why nothing is watched."""

from __future__ import annotations

import pytest

from daemon.acquisition import open_probe as module
from daemon.acquisition.open_probe import open_probe
from daemon.errors import BadInput
from hw.thermocouple import Fault, ProbeError, Reading


class Box:
    """A computer whose probe is there once ``missing`` is empty, and a clock turned by hand."""

    def __init__(self):
        self.now_s = 0.0
        self.missing = "no bus"

    def opener(self, settings, now_s):
        settings.text("bus", "x")
        settings.finish()
        if self.missing:
            raise ProbeError(self.missing, "Switch it on.")
        return self

    def read(self):
        return Reading(21.0)

    def open(self, **more):
        return open_probe("max31856", {"bus": "y"}, lambda: self.now_s, **more)


@pytest.fixture
def box(monkeypatch):
    found = Box()
    monkeypatch.setattr(module, "opener", lambda kind: found.opener)
    return found


def test_it_is_tried_again_until_it_is_there(box):
    probe = box.open(stubborn=True)
    assert probe.trouble == ["There is no probe, so the kiln is not watched. no bus Switch it on."]
    assert probe.read().fault is Fault.SILENT
    box.missing, box.now_s = "another user’s bus", 10.0
    assert probe.read().fault is Fault.SILENT
    assert "another user’s bus" in probe.trouble[0]
    box.missing, box.now_s = "", 15.0
    assert probe.read().fault is Fault.SILENT  # not every second
    box.now_s = 20.0
    assert (probe.read().temp_c, probe.trouble) == (21.0, [])


def test_settings_that_cannot_be_used_open_nothing_though_the_probe_is_there(box):
    box.missing = ""
    probe = box.open(stubborn=True, wrong="mains_hz: 55 is unknown.")
    box.now_s = 10.0
    assert probe.read().temp_c is None
    assert "mains_hz: 55 is unknown." in probe.trouble[0]


def test_one_that_nobody_waits_for_is_refused(box):
    with pytest.raises(BadInput, match="no bus Switch it on"):
        box.open()
