"""The secret in an address: its own for each key and passcode, compared whole, and left out of logs."""

from __future__ import annotations

import hmac
import logging
import sqlite3
from hashlib import sha256

import pytest

from web.security import calendar_address as address
from web.security.calendar_address import HideAddress

KEY = b"k" * 64


def test_key_and_passcode_make_the_secret_and_the_house_is_told_by_the_key_alone():
    assert address.token(KEY, "mark") == hmac.new(KEY, b"calendar of mark", sha256).hexdigest()[:32]  # RFC 2104
    assert len({address.token(KEY, "mark"), address.token(KEY, "other"), address.token(b"other", "mark")}) == 3
    assert address.house_mark(KEY) != address.house_mark(b"other")
    assert address.house_mark(KEY) not in address.token(KEY, "")


@pytest.mark.parametrize("said", ["", "x", "é" * 32, "\ud800", "0" * 32, address.token(KEY, "mark")[:-1],
                                  address.token(KEY, "mark").upper(), address.token(KEY, "mark") + "0"])
def test_only_the_whole_secret_is_taken(said):
    assert not address.is_token(said, KEY, "mark")
    assert address.is_token(address.token(KEY, "mark"), KEY, "mark")


def test_it_is_compared_in_a_time_that_tells_nothing(monkeypatch):
    compared = []
    monkeypatch.setattr(hmac, "compare_digest", lambda *both: compared.append(both) or False)
    assert not address.is_token(address.token(KEY, "mark"), KEY, "mark")
    assert compared == [(address.token(KEY, "mark").encode(),) * 2]


@pytest.mark.parametrize(("message", "args", "logged"), [
    ("Client gone from %s", ("/calendar/0a1b2c.ics",), "Client gone from /calendar/…"),
    ("at /rehearsal/calendar/0a1b2c.ics: broken", (), "at /rehearsal/calendar/…: broken"),
    ("'/calendar/0a1b2c.ics?x=1' was asked", (), "'/calendar/…?x=1' was asked"),
    ("100 % of /kiln", (), "100 % of /kiln"), ("%s", (sqlite3.Error("no"),), "no"),
])
def test_no_log_has_it(message, args, logged):
    record = logging.LogRecord("waitress", logging.INFO, "", 0, message, args, None)
    assert HideAddress().filter(record)
    assert record.getMessage() == logged
