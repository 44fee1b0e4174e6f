"""Messages that do not get through are told on the page, by channel, with since when and why."""

from datetime import UTC, time, timedelta
from pathlib import Path

import pytest

from daemon.firing.events import Rank
from daemon.notify.alert_messages import Channel
from daemon.notify.delivery_health import PostHealth
from daemon.store import outbox
from daemon.store.outbox import Mark

CHANNELS = (Channel("phone", Path("phone.url")), Channel("mail", Path("mail.url"), (Rank.LOOK,)))


@pytest.fixture
def health(house, clock):
    def made(quiet=None):
        return PostHealth(lambda: house.db, CHANNELS, UTC, quiet)
    return made


def test_all_is_well_while_messages_go(house, health, clock):
    found = health()
    number = house.write("one", created=clock.utc())[0]
    assert found.trouble(clock.utc()) == []
    outbox.mark(house.db, [Mark(number, 1, sent_utc=clock.utc())])
    assert found.trouble(clock.utc() + timedelta(hours=1)) == []


def test_a_message_that_nothing_tries_asks_whether_delivery_runs(house, health, clock):
    house.write("one", created=clock.utc())
    told, = health().trouble(clock.utc() + timedelta(minutes=3))
    assert told == ("Delivery: a message waits for phone since 02:10 (nothing has tried to send it). What "
                    "stands on this page may not reach you. Send a trial under “How Lehrling reaches you”. If it "
                    "waits, too, the part that sends does not run (lehrling deliver).")


def test_a_demonstration_that_sends_nothing_says_so_and_asks_for_no_command(house, clock):
    house.write("one", created=clock.utc())
    health = PostHealth(lambda: house.db, CHANNELS, UTC, sends_nothing=True)
    told, = health.trouble(clock.utc() + timedelta(minutes=3))
    assert told == "This is a demonstration: it sends nothing. What stands on this page does not reach phone."


def test_a_channel_that_refuses_is_told_with_why_and_how_many(house, health, clock):
    numbers = [house.write(title, created=clock.utc())[0] for title in ("one", "two")]
    outbox.mark(house.db, [Mark(numbers[0], 3, error="the server answered 500")])
    told, = health().trouble(clock.utc() + timedelta(minutes=3))
    assert told.startswith("Delivery: 2 messages wait for phone since 02:10 (the server answered 500).")


def test_it_is_over_when_they_have_gone(house, health, clock):
    number = house.write("one", created=clock.utc())[0]
    found = health()
    assert found.trouble(clock.utc() + timedelta(minutes=3))
    outbox.mark(house.db, [Mark(number, 4, sent_utc=clock.utc())])
    assert found.trouble(clock.utc() + timedelta(minutes=4)) == []


def test_what_is_kept_back_for_the_night_is_no_trouble_but_a_wake_is(house, health, clock):
    found = health((time(22), time(7)))
    house.write("look", rank="look", created=clock.utc())
    assert found.trouble(clock.utc() + timedelta(hours=1)) == []
    house.write("wake", created=clock.utc(), alert_no=2)
    assert len(found.trouble(clock.utc() + timedelta(hours=2))) == 1
    assert "2 messages" in found.trouble(clock.utc() + timedelta(hours=6))[0]


def test_a_channel_that_is_no_longer_in_the_settings_is_nobodys_trouble(house, health, clock):
    house.write("one", channels=("old",), created=clock.utc())
    assert health().trouble(clock.utc() + timedelta(hours=1)) == []
