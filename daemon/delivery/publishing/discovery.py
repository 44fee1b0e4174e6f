"""Announcing the kiln to a home hub, by the discovery convention that open hubs share.

Under a prefix that the hub watches, one retained message for each entity says as JSON what it is called, under which
topic its value is, and how it is read from there. [from memory: topics PREFIX/COMPONENT/NODE/ENTITY/config, the keys
used below, templates in Jinja's language, "None" for an unknown value]
"""

from __future__ import annotations

import json

from daemon.delivery.publishing.topics import OFFLINE, ONLINE, Topics

EXPIRES_S = 180
"""After so long without a state the hub takes an entity for unavailable [s]. [chosen: three states missed]"""


def announcements(topics: Topics, prefix: str, house_id: str, kiln: str) -> dict[str, bytes]:
    """Return by topic the retained messages that announce the kiln: temperature, rate, and whether to get up.

    Parameters
    ----------
    topics
        The kiln's own.
    prefix
        Where the hub looks.
    house_id
        By which the hub knows this kiln again, whatever it is called.
    kiln
        What the owner calls it.
    """
    node = f"lehrling_{house_id}"
    common = {
        "state_topic": topics.state, "availability_topic": topics.availability,
        "payload_available": ONLINE.decode(), "payload_not_available": OFFLINE.decode(), "expire_after": EXPIRES_S,
        "qos": 1, "device": {"identifiers": [node], "name": kiln, "model": "Lehrling"},
    }
    figure = {"state_class": "measurement"}
    entities = {
        ("sensor", "temperature"): figure | {
            "name": "Temperature", "device_class": "temperature", "unit_of_measurement": "°C",
            "value_template": "{{ value_json.temperature_c }}"},
        ("sensor", "rate"): figure | {
            "name": "Rate", "unit_of_measurement": "°C/h", "value_template": "{{ value_json.rate_c_per_h }}"},
        ("binary_sensor", "get_up"): {
            "name": "Get up", "device_class": "problem", "payload_on": "True", "payload_off": "False",
            "value_template": "{{ value_json.get_up }}"},
    }
    return {
        f"{prefix}/{component}/{node}/{name}/config": json.dumps(
            {**what, "unique_id": f"{node}_{name}", **common}, ensure_ascii=False).encode()
        for (component, name), what in entities.items()
    }
