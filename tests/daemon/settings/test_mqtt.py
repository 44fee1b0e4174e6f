"""[mqtt]: off by default, wrong lines named with their remedy, and nothing published on a guess."""

from pathlib import Path

import pytest

from daemon.errors import BadInput
from daemon.settings.config import parse_config, parse_what_can_be_used
from daemon.settings.mqtt import Mqtt, is_at_home, plain_name

FOLDER = Path("studio")


def test_without_a_broker_nothing_is_published():
    assert parse_config("", "test", FOLDER).mqtt is None
    assert parse_config('[mqtt]\ndiscovery_prefix = "hub"\n', "test", FOLDER).mqtt is None


def test_a_host_is_enough():
    text = '[kiln]\nname = "Große Küche 2"\n[mqtt]\nhost = "broker.home.arpa"\n'
    assert parse_config(text, "test", FOLDER).mqtt == Mqtt("broker.home.arpa", 1883, "lehrling/groe-kuche-2")


def test_every_line_is_taken():
    assert parse_config("""
[mqtt]
host = "mqtt.example.org"
tls = true
ca_file = "ca.pem"
login_file = "mqtt.login"
topic = "studio/kiln"
discovery_prefix = "hub"
""", "test", FOLDER).mqtt == Mqtt("mqtt.example.org", 8883, "studio/kiln", True, FOLDER / "ca.pem",
                                 FOLDER / "mqtt.login", "hub")


@pytest.mark.parametrize(("line", "told"), [
    ('host = "mqtt://broker"', "[mqtt] host: 'mqtt://broker' is no name or address of a computer. Write it alone, as "
                               '"broker.home.arpa" or "192.168.1.20".'),
    ('host = "8.8.8.8"', "[mqtt] host: 8.8.8.8 is not in the home network, and tls is off. Write tls = true."),
    ("port = 0", "[mqtt] port: 0 is outside 1 to 65535. 1883 and 8883 are usual."),
    ('tls = "yes"', "[mqtt] tls: 'yes' is not true or false. Write tls = true."),
    ('ca_file = "ca.pem"', "[mqtt] ca_file: is for an encrypted line, and tls is off. Write tls = true, or take "
                           "ca_file out."),
    ('topic = "kiln/#"', "[mqtt] topic: 'kiln/#' is no topic. Write words with / between them, without + and #, as "
                         '"lehrling/kiln".'),
    ('discovery_prefix = "/hub"', "[mqtt] discovery_prefix: '/hub' is no topic."),
    ('password = "x"', "[mqtt] password: unknown key. Known here: host, tls, port,"),
])
def test_a_wrong_line_is_named_with_its_remedy_and_switches_publishing_off(line, told):
    host = "" if line.startswith("host") else 'host = "broker"\n'
    with pytest.raises(BadInput) as refused:
        parse_config(f"[mqtt]\n{host}{line}\n", "test", FOLDER)
    assert told in refused.value.text
    config, _ = parse_what_can_be_used(f"[mqtt]\n{host}{line}\n", "test", FOLDER)
    assert config.mqtt is None


# By RFC 1918, RFC 4193 (fd00::/8), RFC 4291 (fe80::/10, ::1) and RFC 6598 (100.64.0.0/10, which is a carrier's).
@pytest.mark.parametrize(("address", "near"), [
    ("127.0.0.1", True), ("192.168.1.20", True), ("10.0.0.5", True), ("172.16.9.9", True), ("172.32.0.1", False),
    ("fd12::1", True), ("fe80::1%eth0", True), ("::1", True), ("2606:4700::1", False), ("100.64.0.1", False)])
def test_what_is_at_home(address, near):
    assert is_at_home(address) is near


@pytest.mark.parametrize(("name", "plain"), [("Kiln", "kiln"), ("Studio kiln", "studio-kiln"), ("炉", "kiln"),
                                             ("a/b+c#", "a-b-c")])
def test_a_name_becomes_a_part_of_a_topic(name, plain):
    assert plain_name(name) == plain
