"""Whether the daemon that starts afresh could open the sounder is told from its own word, not from the one before."""

from __future__ import annotations

import json
import os
from datetime import UTC, datetime

import pytest

from daemon.notify.trouble import Ailing, Trouble
from daemon.service.sounder_word import Word, after_change, before_change, is_set
from daemon.store.stamps import stamp

WHY = "There is no sounder at the kiln. D17 is busy."


class Clock:
    """Time that passes where somebody waits; ``then`` happens after the first wait."""

    def __init__(self, then=lambda: None):
        self.s = 0.0
        self.then = then

    def now_s(self):
        return self.s

    def utc(self):
        return datetime(2026, 11, 29, tzinfo=UTC)

    def sleep_until(self, s):
        self.s = s
        self.then()
        self.then = lambda: None


@pytest.fixture
def daemon(tmp_path):
    """Return what writes the files of a daemon's start, in its own second."""
    def start(second, *, socket=True, why=()):
        if socket:
            made = tmp_path / "lehrling.sock"
            made.unlink(missing_ok=True)
            made.touch()
            os.utime(made, (second, second))
        state = tmp_path / "present.json"
        troubles = [Trouble(Ailing.SOUNDER, line).as_json() for line in why]
        state.write_text(json.dumps({"written_utc": stamp(datetime(2026, 11, 29, tzinfo=UTC)), "trouble": troubles}))
        os.utime(state, (second + 1, second + 1))
    return start


@pytest.mark.parametrize(("why", "word"), [([WHY], Word("not opened", WHY)), ([], Word("opened"))])
def test_the_fresh_daemon_says_whether_it_opened_it(daemon, tmp_path, why, word):
    daemon(100, why=["The one before could not either."])
    before = before_change(tmp_path)
    assert after_change(tmp_path, before, Clock(lambda: daemon(200, why=why))) == word


def test_the_word_of_the_daemon_before_is_not_believed(daemon, tmp_path):
    daemon(100, why=[WHY])
    before = before_change(tmp_path)
    assert after_change(tmp_path, before, Clock(lambda: daemon(150, socket=False, why=[WHY]))) == Word("not tried")


def test_only_a_pin_that_is_set_is_asked_about():
    assert is_set({"kiln.name": "Loft", "sounder.pin": "D17"})
    assert not is_set({"sounder.pin": None, "kiln.name": "Loft"})
