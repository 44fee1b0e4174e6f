"""Trouble with the broker is written for the page: at once where it refuses, after an hour where it is away."""

from datetime import UTC, datetime, timedelta

import pytest

from daemon.delivery.mqtt_line import Refused
from daemon.delivery.publishing import publisher, trouble_file
from daemon.delivery.publishing.trouble_file import Trouble, read, write
from daemon.settings.mqtt import Mqtt

NOW = datetime(2026, 11, 25, 2, 10, tzinfo=UTC)


def test_it_is_read_as_it_was_written_and_taken_away(tmp_path):
    write(tmp_path, Trouble(NOW, "Connection refused", False))
    assert read(tmp_path) == Trouble(NOW, "Connection refused", False)
    write(tmp_path, None)
    assert read(tmp_path) is None
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("text", ["", "[]", '{"since_utc": "x", "text": "", "refused": true}'])
def test_what_makes_no_sense_is_no_trouble(tmp_path, text):
    (tmp_path / trouble_file.FILE_NAME).write_text(text)
    assert read(tmp_path) is None


def test_a_cut_line_is_told_after_an_hour_and_a_refusal_at_once():
    assert not Trouble(NOW, "x", False).is_told(NOW + timedelta(minutes=59))
    assert Trouble(NOW, "x", False).is_told(NOW + timedelta(hours=1))
    assert Trouble(NOW, "x", True).is_told(NOW)


def test_the_publisher_writes_since_when_and_takes_it_away(tmp_path, clock, monkeypatch):
    fails = [OSError(111, "Connection refused"), OSError(113, "No route to host"), Refused("not authorised")]

    def no_line(*_):
        raise fails[0]

    monkeypatch.setattr(publisher, "open_line", no_line)
    write(tmp_path, Trouble(NOW, "of an earlier process", True))
    one = publisher.Publisher(Mqtt("127.0.0.1", 1, "k"), "k", tmp_path, tmp_path, clock)
    assert read(tmp_path) is None
    began = clock.utc()
    one.look()
    assert read(tmp_path) == Trouble(began, "Connection refused", False)
    for text, refused in (("No route to host", False), ("not authorised", True)):
        fails.pop(0)
        clock.passed_s += 100
        one.look()
        found = read(tmp_path)
        assert (found.since_utc, found.text, found.refused) == (began, text, refused)
    one._say("")
    assert read(tmp_path) is None
