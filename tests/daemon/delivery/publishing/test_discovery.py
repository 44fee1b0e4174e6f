"""A home hub finds the kiln: what is announced, how the hub would read it, and how it is taken back."""

import json

import pytest
from jinja2 import Environment

from daemon.delivery.publishing.discovery import announcements
from daemon.delivery.publishing.state_message import state_message
from daemon.delivery.publishing.topics import Topics
from daemon.service.state_reader import read_daemon_state

TOPICS = Topics("lehrling/kueche-2")


def as_a_hub_reads(announced, state):
    """Return the value of each entity: the template of its announcement, filled with the state by Jinja itself."""
    found = {}
    for payload in announced.values():
        said = json.loads(payload)
        template = Environment(autoescape=False).from_string(said["value_template"])
        found[said["name"]] = template.render(value_json=json.loads(json.dumps(state)))
    return found


@pytest.mark.parametrize(("quiet_until_s", "get_up"), [(None, "True"), (7300.0, "False")])
def test_a_hub_reads_temperature_rate_and_whether_to_get_up(
        daemon_says, tmp_path, clock, alert, quiet_until_s, get_up):
    daemon_says(alerts=[alert | {"quiet_until_s": quiet_until_s}])
    state = state_message("Küche 2", read_daemon_state(tmp_path, clock.utc()))
    announced = announcements(TOPICS, "hub", "0a1b2c3d", "Küche 2")
    assert as_a_hub_reads(announced, state) == {"Temperature": "516.0", "Rate": "-3.0", "Get up": get_up}
    lamp = json.loads(announced["hub/binary_sensor/lehrling_0a1b2c3d/get_up/config"])
    assert (lamp["payload_on"], lamp["payload_off"]) == ("True", "False")


def test_what_is_not_known_is_neither_a_number_nor_an_all_clear():
    announced = announcements(TOPICS, "hub", "0a1b2c3d", "Küche 2")
    assert set(as_a_hub_reads(announced, state_message("Küche 2", None)).values()) == {"None"}


def test_each_entity_has_an_id_of_its_own_that_no_new_name_of_the_kiln_changes():
    one, other = (announcements(TOPICS, "hub", "0a1b2c3d", name) for name in ("Küche 2", "Keller"))
    ids = [[json.loads(payload)["unique_id"] for payload in said.values()] for said in (one, other)]
    assert ids[0] == ids[1]
    assert len(set(ids[0])) == 3
    assert one.keys() == other.keys()


@pytest.mark.usefixtures("house")
def test_the_kiln_is_announced_where_a_prefix_is_set_and_forgotten_where_it_is_not(
        broker, make_publisher, daemon_says):
    daemon_says()
    one = make_publisher(broker, discovery_prefix="hub")
    one.look()
    kept = broker.subscribe("-t", "hub/#", "-W", "1", "-F", "%r %t").decode().splitlines()
    assert [line.split("/")[-2] for line in sorted(kept)] == ["get_up", "rate", "temperature"]
    assert all(line.startswith("1 hub/") for line in kept)
    one.close()
    make_publisher(broker).look()
    assert broker.subscribe("-t", "hub/#", "-W", "1") == b""
    assert broker.word("lehrling/kueche-2/availability") == b"online"


@pytest.mark.usefixtures("house")
def test_nothing_is_announced_without_a_prefix_and_nothing_is_subscribed_to(
        broker, make_publisher, daemon_says, listen):
    daemon_says()
    listener, one = listen(broker), make_publisher(broker)
    one.look()
    assert {topic for topic, _ in listener.fetch("-W", "1")} == {
        "lehrling/kueche-2/state", "lehrling/kueche-2/availability"}
    said = broker.subscribe("-t", "$SYS/broker/subscriptions/count", "-C", "1", "-W", "20")
    assert int(said) <= 2, "the listener's, and the one that asks"
