"""Who was let in: each browser by itself, for ninety days, over a restart, in a file that may be missing."""

from __future__ import annotations

import json
import stat
from datetime import UTC, datetime, timedelta

import pytest

from web.security.sessions import LASTS, MOST, Sessions, device_words

NOON = datetime(2026, 3, 4, 12, 0, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


class Clock:
    """A computer's clocks that a test turns: the wall time, and the one that never goes back."""

    def __init__(self):
        self.now, self.s, self.boot_id, self.is_set = NOON, 5000.0, "boot-a", True

    def utc(self):
        return self.now

    def now_s(self):
        return self.s

    def synchronised(self):
        return self.is_set

    def pass_(self, span):
        self.now += span
        self.s += span.total_seconds()

    def reboot(self, off, *, wall=None):
        """Switch the computer off for so long; without a battery it comes up with a clock that is wrong."""
        self.now = self.now + off if wall is None else wall
        self.s, self.boot_id, self.is_set = 20.0, self.boot_id + "'", wall is None


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def sessions(tmp_path, clock):
    return Sessions(tmp_path / "kept", clock)


def test_whoever_was_let_in_stays_in_over_a_restart_and_nobody_else(sessions, tmp_path, clock):
    key = sessions.begin("Firefox on Linux", "10.0.0.7")
    assert sessions.alive(key)
    again = Sessions(tmp_path / "kept", clock)
    assert again.alive(key)
    (one,) = again.all()
    assert (one.key, one.device, one.address, one.since_utc, one.seen_utc) == (
        key, "Firefox on Linux", "10.0.0.7", NOON, NOON)
    for other in ("", "x" * 32, None, 1, key[:-1]):
        assert not sessions.alive(other)
    assert len(key) == 32  # 24 bytes in base 64
    assert stat.S_IMODE((tmp_path / "kept").stat().st_mode) == 0o600


def test_a_session_ends_after_ninety_days(sessions, clock):
    key = sessions.begin("A", "")
    assert timedelta(days=90) == LASTS
    clock.pass_(LASTS)
    assert sessions.alive(key)
    clock.pass_(timedelta(seconds=1))
    assert not sessions.alive(key)


@pytest.mark.parametrize("wall", [
    datetime(1970, 1, 1, tzinfo=UTC), NOON - timedelta(hours=1), datetime(2055, 1, 1, tzinfo=UTC)])
def test_a_clock_that_is_wrong_after_a_power_cut_signs_nobody_out(sessions, tmp_path, clock, wall):
    key = sessions.begin("A", "")
    clock.pass_(timedelta(days=30))
    assert sessions.alive(key)
    clock.reboot(timedelta(minutes=5), wall=wall)
    assert Sessions(tmp_path / "kept", clock).alive(key)
    clock.now, clock.is_set = NOON + timedelta(days=30, hours=1), True  # the network is back
    assert Sessions(tmp_path / "kept", clock).alive(key)


@pytest.mark.parametrize("step", [timedelta(days=-20_000), timedelta(days=20_000)])
def test_a_step_of_the_wall_clock_signs_nobody_out(sessions, clock, step):
    key = sessions.begin("A", "")
    clock.now += step
    assert sessions.alive(key)
    clock.pass_(LASTS + timedelta(seconds=1))
    assert not sessions.alive(key)


def test_a_session_ends_at_last_under_a_clock_that_is_never_set(sessions, tmp_path, clock):
    key = sessions.begin("A", "")
    for _ in range(9):
        clock.reboot(timedelta(), wall=datetime(1970, 1, 1, tzinfo=UTC))
        sessions = Sessions(tmp_path / "kept", clock)
        assert sessions.alive(key)
        clock.pass_(timedelta(days=10))
        sessions.alive(key)
    clock.reboot(timedelta(), wall=datetime(1970, 1, 1, tzinfo=UTC))
    assert not Sessions(tmp_path / "kept", clock).alive(key)


def test_the_time_that_a_computer_was_off_counts_where_its_clock_was_set(sessions, tmp_path, clock):
    key = sessions.begin("A", "")
    clock.reboot(LASTS + MINUTE)
    assert not Sessions(tmp_path / "kept", clock).alive(key)


def test_a_session_of_an_older_lehrling_goes_on(tmp_path, clock):
    (tmp_path / "kept").write_text(json.dumps([{
        "key": "k", "device": "A", "address": "", "since_utc": (NOON - timedelta(days=80)).isoformat(),
        "seen_utc": NOON.isoformat()}]), encoding="utf-8")
    assert Sessions(tmp_path / "kept", clock).alive("k")
    clock.pass_(timedelta(days=11))
    assert not Sessions(tmp_path / "kept", clock).alive("k")


@pytest.mark.parametrize(("later", "is_written"), [(9 * MINUTE, False), (11 * MINUTE, True)])
def test_a_visit_is_written_down_every_ten_minutes(sessions, tmp_path, clock, later, is_written):
    key = sessions.begin("A", "")
    clock.pass_(later)
    assert sessions.alive(key)
    seen = NOON + later if is_written else NOON
    assert sessions.all()[0].seen_utc == seen
    assert Sessions(tmp_path / "kept", clock).all()[0].seen_utc == seen
    assert sessions.all()[0].since_utc == NOON


def test_one_ends_and_the_others_stay(sessions, tmp_path, clock):
    keys = [sessions.begin(device, "") for device in "ABC"]
    sessions.end(keys[0])
    sessions.end("never there")
    assert [sessions.alive(key) for key in keys] == [False, True, True]
    assert len(Sessions(tmp_path / "kept", clock).all()) == 2
    sessions.end_all_but(keys[2])
    assert [sessions.alive(key) for key in keys] == [False, False, True]
    assert [one.device for one in Sessions(tmp_path / "kept", clock).all()] == ["C"]


def test_the_one_used_last_comes_first(sessions, clock):
    first = sessions.begin("A", "")
    clock.pass_(MINUTE)
    sessions.begin("B", "")
    assert [one.device for one in sessions.all()] == ["B", "A"]
    clock.pass_(15 * MINUTE)
    sessions.alive(first)
    assert [one.device for one in sessions.all()] == ["A", "B"]


def test_a_flood_of_sessions_ends_the_one_used_longest_ago(sessions, clock):
    keys = []
    for number in range(MOST):
        keys.append(sessions.begin(f"{number}", ""))
        clock.pass_(timedelta(seconds=1))
    assert all(sessions.alive(key) for key in keys)
    clock.pass_(15 * MINUTE)
    sessions.alive(keys[0])
    sessions.begin("new", "")
    assert [sessions.alive(key) for key in keys[:3]] == [True, False, True]
    assert len(sessions.all()) == MOST == 50


def test_a_file_that_cannot_be_written_is_told_and_the_session_holds_in_memory(tmp_path, clock, caplog):
    sessions = Sessions(tmp_path / "no such folder" / "kept", clock)
    assert sessions.alive(sessions.begin("A", ""))
    assert "sessions are kept in memory only" in caplog.text


@pytest.mark.parametrize("held", [
    '[{"key": 1}]', "not json", "[1]", "{}", '[{"key": "k", "device": "", "address": "", "since_utc": "soon", '
    '"seen_utc": "soon"}]',
])
def test_a_file_with_nonsense_lets_nobody_in(tmp_path, clock, held):
    (tmp_path / "kept").write_text(held, encoding="utf-8")
    sessions = Sessions(tmp_path / "kept", clock)
    assert sessions.all() == []
    assert not sessions.alive(None)


def test_of_a_file_with_too_many_rows_fifty_are_taken(tmp_path, clock):
    row = {"device": "", "address": "", "since_utc": NOON.isoformat(), "seen_utc": NOON.isoformat()}
    (tmp_path / "kept").write_text(json.dumps([{"key": f"{n}", **row} for n in range(60)]), encoding="utf-8")
    assert len(Sessions(tmp_path / "kept", clock).all()) == 50


@pytest.mark.parametrize(("agent", "words"), [
    ("Mozilla/5.0 (X11; Linux x86_64) AppleWebKit Chrome/1 Safari/1", "Chromium or Chrome on Linux"),
    ("Mozilla/5.0 (Windows NT 10.0) Chrome/1 Safari/1 Edg/1", "Edge on Windows"),
    ("Mozilla/5.0 (iPhone; CPU iPhone OS 17 like Mac OS X) Safari/1", "Safari on iPhone"),
    ("Mozilla/5.0 (Android 14; Mobile) Firefox/1", "Firefox on Android"),
    ("Firefox", "Firefox"), ("", "A browser"), ("curl (Linux)", "A browser on Linux"),
])
def test_a_browser_is_named_in_words(agent, words):
    assert device_words(agent) == words
