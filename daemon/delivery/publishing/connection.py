"""Opening a line to the broker that the settings name, in MQTT 5, with a last will that waits a little."""

from __future__ import annotations

import socket
from typing import TYPE_CHECKING

from daemon.delivery.mqtt_line import QOS, Line, new_client, tls_context
from daemon.delivery.publishing.topics import OFFLINE
from daemon.delivery.sender import secret
from daemon.errors import BadInput
from daemon.settings.mqtt import Mqtt, is_at_home

if TYPE_CHECKING:
    from paho.mqtt.properties import Properties

KEEP_ALIVE_S = 30.0
"""The broker takes this end for dead after one and a half times as long without a packet [s]. [chosen: a cut line is
known in less than a minute]"""
WILL_DELAY_S = 20
"""The broker waits so long after a death before it publishes the last will [s]. [chosen: systemd starts the service
again after 2 s; a start on a Pi takes some seconds more]"""
_VERSION = 5
"""MQTT 5 as the protocol numbers it. [source: MQTT 5, section 3.1.2.2]"""


def open_line(settings: Mqtt, client_id: str, will_topic: str) -> Line:
    """Return a line that the broker has accepted.

    Where it dies and is not back within WILL_DELAY_S, the broker retains OFFLINE under ``will_topic``. The session
    lasts as long at the broker, for the will's delay ends with it [source: MQTT 5, section 3.1.3.2.2].

    Raises
    ------
    BadInput
        Where a setting or a file that it names can't be used.
    OSError
        Where the broker can't be reached, refuses, or does not answer.
    """
    client = new_client("[mqtt]", version=_VERSION, client_id=client_id)
    host = settings.host
    if settings.tls:
        try:
            client.tls_set_context(tls_context(settings.ca_file))
        except OSError as err:
            if settings.ca_file is None:
                raise
            raise BadInput("[mqtt] ca_file", f"{settings.ca_file} can't be used: {err.strerror or 'no certificate'}.",
                           "Name a readable file with the authority's certificate (PEM).") from None
    else:
        host = _near_address(settings.host, settings.port)
    if settings.login_file is not None:
        user, colon, password = secret(settings.login_file, "the login of the MQTT broker").partition(":")
        if not colon or not user:
            raise BadInput(str(settings.login_file), "holds no login of the MQTT broker.",
                           "Write one line, user:password.")
        client.username_pw_set(user, password)
    client.will_set(will_topic, OFFLINE, QOS, retain=True,
                    properties=properties("WILLMESSAGE", WillDelayInterval=WILL_DELAY_S))
    line = Line(client)
    line.connect(host, settings.port, KEEP_ALIVE_S, clean_start=False,
                 properties=properties("CONNECT", SessionExpiryInterval=WILL_DELAY_S))
    return line


def properties(packet: str, **values: int) -> Properties:
    """Return the properties of a packet of MQTT 5, by the names that the client has for them."""
    from paho.mqtt.packettypes import PacketTypes
    from paho.mqtt.properties import Properties

    found = Properties(getattr(PacketTypes, packet))  # type: ignore[no-untyped-call]
    for name, value in values.items():
        setattr(found, name, value)
    return found


def _near_address(host: str, port: int) -> str:
    """Return the broker's address in the home network; an unencrypted line goes nowhere else.

    Raises
    ------
    BadInput
        Where the name stands for addresses outside it only.
    OSError
        Where it is not found.
    """
    found = [str(entry[4][0]) for entry in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]
    near = [address for address in found if is_at_home(address)]
    if not near:
        raise BadInput("[mqtt] host", f"{host} is not in the home network, and tls is off.",
                       "Encrypt the line: lehrling settings set mqtt.tls true")
    return near[0]
