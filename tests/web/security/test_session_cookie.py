"""The cookie's own time stamp and day of forgetting decide nothing: a clock of 1970 signs nobody out."""

from __future__ import annotations

from datetime import UTC, datetime

import itsdangerous
import pytest

from tests.web.security.conftest import SAME, WORDS


@pytest.fixture
def browser(guarded):
    return guarded.test_client()


@pytest.mark.parametrize("second", [0, 4_000_000_000], ids=["1970", "2096"])
def test_after_a_power_cut_with_a_wrong_clock_the_browser_is_still_let_in(studio, browser, monkeypatch, second):
    browser.post("/enter", data={"passcode": WORDS}, headers=SAME)
    cookie = browser.get_cookie("lehrling").value
    studio.clock.wall = datetime.fromtimestamp(second, UTC)
    studio.clock.second, studio.clock.boot_id, studio.clock.is_set = 20.0, "another boot", False
    monkeypatch.setattr(itsdangerous.TimestampSigner, "get_timestamp", lambda _: second)
    again = studio.app(open_house=False).test_client()
    again.set_cookie("lehrling", cookie)
    assert again.get("/now.json").status_code == 200


def test_the_browser_is_told_a_span_and_no_day(browser):
    """A day by a clock of 1970 would be long past, and the browser would throw the cookie away at once."""
    kept = browser.post("/enter", data={"passcode": WORDS}, headers=SAME).headers.getlist("Set-Cookie")
    (kept,) = [one for one in kept if one.startswith("lehrling=")]
    assert f"Max-Age={90 * 86400}" in kept
    assert "expires" not in kept.lower()
    for mark in ("HttpOnly", "SameSite=Strict", "Path=/"):
        assert mark in kept


def test_a_cookie_that_nobody_here_signed_lets_nobody_in(studio, browser):
    browser.post("/enter", data={"passcode": WORDS}, headers=SAME)
    value = browser.get_cookie("lehrling").value
    for forged in (value[:-2] + "xx", value.split(".")[0], "", "x"):
        other = studio.app(open_house=False).test_client()
        other.set_cookie("lehrling", forged)
        assert other.get("/now.json").status_code == 401


def test_leaving_takes_the_cookie_away(browser):
    browser.post("/enter", data={"passcode": WORDS}, headers=SAME)
    browser.post("/leave", headers=SAME)
    assert browser.get_cookie("lehrling") is None
