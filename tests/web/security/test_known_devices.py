"""A browser that was let in has tries of its own, until the passcode changes."""

from __future__ import annotations

import stat
from datetime import timedelta

import pytest

from web.security import passcode
from web.security.known_devices import KEPT_S, MOST, KnownDevices


@pytest.fixture
def places(tmp_path, monkeypatch):
    monkeypatch.setattr(passcode, "METHOD", "scrypt:1024:8:1")
    passcode.keep(tmp_path / "passcode", "warm sand and slow rivers")
    return tmp_path / "page-devices", tmp_path / "passcode"


def test_a_mark_is_known_over_a_restart_and_a_forged_one_never(places):
    mark = KnownDevices(*places).remember()
    again = KnownDevices(*places)
    assert again.knows(mark)
    for other in ("", mark[:-1], mark + "x", places[0].read_text()[2:66]):
        assert not again.knows(other)
    assert mark not in places[0].read_text()
    assert stat.S_IMODE(places[0].stat().st_mode) == 0o600


def test_a_new_passcode_forgets_every_browser(places):
    devices = KnownDevices(*places)
    mark = devices.remember()
    passcode.keep(places[1], "another one entirely")
    assert not devices.knows(mark)


def test_so_many_are_remembered_and_the_oldest_gives_way(places):
    devices = KnownDevices(*places)
    marks = [devices.remember() for _ in range(MOST + 1)]
    assert [devices.knows(mark) for mark in (marks[0], marks[1], marks[-1])] == [False, True, True]


def test_a_mark_is_asked_to_be_kept_for_the_400_days_that_browsers_allow():
    # The draft of RFC 6265bis, section 5.5: browsers shorten what is longer.
    assert timedelta(days=400).total_seconds() == KEPT_S


@pytest.mark.parametrize("held", ["not json", "7", "{", '"x"'])
def test_a_file_with_nonsense_knows_nobody(places, held):
    places[0].write_text(held)
    assert not KnownDevices(*places).knows("x")
