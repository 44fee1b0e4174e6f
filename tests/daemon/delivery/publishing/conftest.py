"""A kiln's state file, written by hand as the daemon writes it, and a publisher for it."""

import json

import pytest

from daemon.delivery.publishing.publisher import Publisher
from daemon.service.state_file import as_text, present, write
from daemon.settings.mqtt import Mqtt
from hw.thermocouple import Reading

ALERT = {
    "no": 1, "kind": "cooling-too-fast", "rank": "wake", "since_s": 7000.0, "raised_s": 7100.0, "woke_s": 7100.0,
    "cleared_s": None, "acknowledged_s": None, "quiet_until_s": None, "step": 4, "under": None, "seen_s": None,
    "text": {"what": "The kiln cools too fast.", "meaning": "", "do": "", "time_left_s": None}}
FIRING = {
    "firing_id": 3, "firing_title": "Leaf tile", "t_s": 7200.0, "temp_c": 515.96, "planned_c": 516.0,
    "rate_c_per_h": -3.4, "sentence": "Holding at 516 °C.",
    "part": {"index": 7, "step": 4, "part": "hold", "start_s": 6000.0},
    "next": {"step": 5, "part": "ramp", "at_s": 9600.0}, "open_at_s": 36_000.0, "open_margin_s": 5400.0}


@pytest.fixture
def daemon_says(tmp_path, clock):
    """Return a function that writes the state file at the clock's present; firing and figures as given."""
    def say(firing=True, **fields):
        state = present(clock, "Küche 2", Reading(21.04), None, None, [])
        if firing:
            state |= FIRING | {"started_utc": "2026-11-25T00:10:00.000Z"}
        write(tmp_path, as_text(state | fields))

    return say


@pytest.fixture
def make_publisher(tmp_path, clock):
    """Return a function that makes a publisher for a broker; fields of the settings as given."""
    made = []

    def make(broker, **fields):
        settings = Mqtt("127.0.0.1", broker.port, "lehrling/kueche-2", **fields)
        made.append(Publisher(settings, "Küche 2", tmp_path, tmp_path, clock))
        return made[-1]

    yield make
    for publisher in made:
        publisher.close()


class Listener:
    """Another program, whose session the broker keeps: it fetches later all that came meanwhile."""

    def __init__(self, broker):
        self.broker = broker
        self.fetch("-E", topic="#")

    def fetch(self, *more, topic="#"):
        """Return (topic, payload) of each message that waits; what is retained besides is left out."""
        said = self.broker.subscribe(
            "-R", "-i", "listener", "-c", "-x", "3600", "-q", "1", "-t", topic, "-F", "%t %p", *more)
        return [tuple(line.split(" ", 1)) for line in said.decode().splitlines()]

    def events(self, count):
        """Return the events that wait, once there are so many; more are seen as well."""
        found = []
        for _ in range(30):
            found += [json.loads(payload) for topic, payload in self.fetch("-W", "1") if topic.endswith("/event")]
            if len(found) >= count:
                return found
        pytest.fail(f"{found} are not {count} events")


@pytest.fixture
def listen():
    return Listener


@pytest.fixture
def lasting_broker(make_broker, tmp_path):
    """Return a broker that keeps what it has over a restart, as Debian sets it up."""
    return make_broker("allow_anonymous true", f"persistence true\npersistence_location {tmp_path}/\nuser root")


@pytest.fixture
def alert():
    return ALERT
