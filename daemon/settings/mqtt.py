"""What is published to an MQTT broker, and where the broker is, as ``[mqtt]`` of the settings says."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from ipaddress import ip_address
from pathlib import Path

from daemon.fields import Fields
from daemon.toml import shown

PLAIN_PORT, TLS_PORT = 1883, 8883
"""The ports of MQTT, plain and over TLS. [source: IANA, Service Name and Transport Protocol Port Number Registry,
mqtt and secure-mqtt]"""
_LONGEST_TOPIC = 100
"""Characters of a topic or prefix at most. [chosen: far below the 65,535 bytes of the protocol]"""
_LONGEST_HOST = 253
"""Characters of a host's name at most. [from: daemon.settings.page_address._LONGEST_NAME]"""
_HOST = re.compile(r"[A-Za-z0-9:_-][A-Za-z0-9.:_-]*")


@dataclass(frozen=True, slots=True)
class Mqtt:
    """Where the kiln's state is published; files hold what is secret.

    Attributes
    ----------
    host, port
        The broker's.
    topic
        What all topics of this kiln begin with.
    tls
        Whether the line is encrypted and the broker's certificate checked.
    ca_file
        The authority that the certificate is checked against (PEM); None is those of the system.
    login_file
        A file with one line, ``user:password``; None is no login.
    discovery_prefix
        What the topics begin with under which a home hub looks for devices; empty where nothing is announced.
    """

    host: str
    port: int
    topic: str
    tls: bool = False
    ca_file: Path | None = None
    login_file: Path | None = None
    discovery_prefix: str = ""


def mqtt(table: Fields, kiln_name: str, folder: Path) -> Mqtt | None:
    """Return what ``[mqtt]`` says; None where no broker is named, or where any of its lines can't be used.

    With the usual value in place of a wrong line, a password could go to another broker, or unencrypted.
    """
    before = len(table.problems)
    host, tls = table.text("host", ""), table.flag("tls", False)
    port = table.whole("port", TLS_PORT if tls else PLAIN_PORT, 1, 65_535, f"{PLAIN_PORT} and {TLS_PORT} are usual.")
    ca, login = table.text("ca_file", ""), table.text("login_file", "")
    found = Mqtt(host, port, _topic(table, "topic", f"lehrling/{plain_name(kiln_name)}"), tls,
                 folder / ca if ca else None, folder / login if login else None,
                 _topic(table, "discovery_prefix", ""))
    if host:
        _check_host(table, host, tls=tls)
    if ca and not tls:
        table.problem("ca_file", "is for an encrypted line, and tls is off.",
                      "Write tls = true, or take ca_file out.")
    table.refuse_the_rest()
    return found if host and len(table.problems) == before else None


def plain_name(name: str) -> str:
    """Return a name as a part of a topic: small letters without accents, digits and hyphens."""
    letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", letters).strip("-") or "kiln"


def is_at_home(address: str) -> bool:
    """Return whether an IP address is this computer's or of a home network, such as 192.168.1.20.

    Raises
    ------
    ValueError
        Where it is no IP address.
    """
    found = ip_address(address.partition("%")[0])
    return found.is_private or found.is_loopback or found.is_link_local


def _check_host(table: Fields, host: str, *, tls: bool) -> None:
    """Note what is wrong with the broker's name or address."""
    if len(host) > _LONGEST_HOST or not _HOST.fullmatch(host):
        table.problem("host", f"{shown(host)} is no name or address of a computer.",
                      'Write it alone, as "broker.home.arpa" or "192.168.1.20".')
        return
    try:
        is_near = is_at_home(host)
    except ValueError:
        return  # a name: what it stands for is seen when the line is opened
    if not is_near and not tls:
        table.problem("host", f"{host} is not in the home network, and tls is off.", "Write tls = true.")


def _topic(table: Fields, key: str, default: str) -> str:
    """Return a topic, or the beginning of topics."""
    value = table.text(key, default)
    if len(value) > _LONGEST_TOPIC:
        table.problem(key, f"{shown(value)} is longer than {_LONGEST_TOPIC} characters.", "Write a shorter one.")
    elif value and (set(value) & set("+#") or value.startswith("$") or not all(value.split("/"))):
        table.problem(key, f"{shown(value)} is no topic.",
                      'Write words with / between them, without + and #, as "lehrling/kiln".')
    else:
        return value
    return default
