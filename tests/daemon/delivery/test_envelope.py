from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from daemon.delivery.envelope import enveloped

WRITTEN = datetime(2026, 11, 25, 1, 10, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")  # one hour ahead of UTC in November


def test_a_prompt_message_gets_its_number_and_no_age():
    text = enveloped("Body.", 71, WRITTEN, WRITTEN + timedelta(seconds=2), BERLIN, "514 °C, holding.")
    assert text == "Body.\nMessage 71; the same number again is the same message."


def test_a_late_message_says_when_it_was_written_and_how_things_stand_now():
    text = enveloped("Body.", 71, WRITTEN, WRITTEN + timedelta(hours=3), BERLIN, "514 °C, holding.")
    assert text.splitlines()[:3] == [
        "Late: written at 02:10, 3 h 00 min ago.", "Now: 514 °C, holding.", "Body."]


def test_what_is_not_known_now_is_left_out():
    assert "Now:" not in enveloped("Body.", 71, WRITTEN, WRITTEN + timedelta(hours=3), BERLIN)


@pytest.mark.parametrize("age", [timedelta(days=-400), timedelta(days=20_000)])
def test_a_clock_that_was_not_set_is_not_told_as_an_age(age):
    assert "Late" not in enveloped("Body.", 71, WRITTEN, WRITTEN + age, BERLIN, "x")
