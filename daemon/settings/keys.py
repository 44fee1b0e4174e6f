"""The settings that a command or the page may change, each with its kind and what it means."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any, Literal

from daemon.errors import BadInput
from daemon.toml import shown
from daemon.typed_number import NOT_A_NUMBER, read_number

Kind = Literal["text", "whole", "number", "flag", "texts", "address"]


@dataclass(frozen=True, slots=True)
class Key:
    """One setting: the kind of its value, what serves where it is left out, and what it means."""

    kind: Kind
    usual: str
    means: str


KEYS: Mapping[str, Key] = {
    "kiln.name": Key("text", "Kiln", "how the kiln is called on the page and in messages"),
    "kiln.controller_unit": Key("text", "the owner’s", "C or F: the unit of the kiln’s controller"),
    "kiln.power_kw": Key("number", "not given", "its rated power, all elements on [kW], to estimate energy"),
    "kiln.price_per_kwh": Key("number", "not given", "what a kilowatt hour costs, to estimate cost"),
    "kiln.currency": Key("text", "none", "stands behind a cost, such as € or USD"),
    "probe.kind": Key("text", "max31856", "the converter: max31856, bench or recorded"),
    "probe.thermocouple_type": Key("text", "K", "the letter on the thermocouple or its plug"),
    "probe.tolerance_class": Key("whole", "2", "1 or 2, as on its paper: for what is stated of a reading"),
    "probe.mains_hz": Key("whole", "50", "50 or 60, to filter the mains hum"),
    "probe.averaging": Key("whole", "4", "samples of the converter that make one reading: 1, 2, 4, 8 or 16"),
    "probe.bus": Key("text", "/dev/spidev0.0", "the device of the converter’s SPI bus"),
    "owner.unit": Key("text", "C", "C or F, for alerts and messages"),
    "owner.thickness_unit": Key("text", "mm", "mm or inch, for the thickness of glass"),
    "owner.time_zone": Key("text", "the computer’s", "a name such as Europe/Vienna"),
    "owner.whom_to_call": Key("text", "nobody", "a name and a number, shown to who is woken"),
    "owner.quiet_from": Key("text", "none", "from then what can wait is kept back; wakes never are"),
    "owner.quiet_to": Key("text", "none", "until then"),
    "owner.awake_at": Key("text", "none", "the time of a daily message that Lehrling is running"),
    "page.host": Key("text", "127.0.0.1", "where the page listens, from the next start on"),
    "page.port": Key("whole", "8080", "its port, from the next start on"),
    "page.allowed_hosts": Key("texts", "none", "names the page may be called by"),
    "page.open_reading": Key("flag", "false", "whether the house may read without the passcode"),
    "page.metrics": Key("flag", "false", "whether /metrics gives figures to a monitoring program, without passcode"),
    "page.studio": Key("flag", "false", "whether the studio’s server may collect the record, by a token"),
    "page.behind_tls": Key("flag", "false", "whether a proxy on this machine speaks https for the page"),
    "page.passcode_file": Key("text", "passcode", "where the passcode’s hash is kept"),
    "page.others": Key("texts", "none", "state folders of other kilns’ daemons"),
    "alive.url_file": Key("text", "none", "a file with an address that is asked as a sign of life"),
    "alive.mqtt_file": Key("text", "none", "a file with an MQTT broker for the same"),
    "alive.every_s": Key("whole", "60", "how often [s]"),
    "mqtt.host": Key("text", "none", "the MQTT broker that the kiln’s state is published to"),
    "mqtt.port": Key("whole", "1883, or 8883 with tls", "its port"),
    "mqtt.tls": Key("flag", "false", "whether the line to it is encrypted and its certificate checked"),
    "mqtt.ca_file": Key("text", "the system’s", "a file with the authority that its certificate is checked against"),
    "mqtt.login_file": Key("text", "none", "a file with user:password for the broker"),
    "mqtt.topic": Key("text", "lehrling/ and the kiln", "what the topics of this kiln begin with"),
    "mqtt.discovery_prefix": Key("text", "none", "where a home hub looks for devices, so that it finds the kiln"),
    "copies.elsewhere": Key("texts", "none", "where copies are kept, such as usb:KILN or /mnt/nas/kiln"),
    "sounder.pin": Key("text", "none", "the pin that switches a sounder"),
    "sounder.lamp_pin": Key("text", "none", "the pin that switches a lamp"),
    "sounder.active_low": Key("flag", "false", "true for many relay boards"),
}
"""By section and name."""
AT_NEXT_START = ("page.host", "page.port", "page.behind_tls")
"""What the page works with from its next start on; with all others it works at once."""
CHANNEL_KEYS: Mapping[str, Key] = {
    "address": Key("address", "needed", "where messages go, as apprise spells it; kept in a file of its own"),
    "ranks": Key("texts", "wake, look", "wake, look or both"),
    "after_min": Key("whole", "0", "only wakes that nobody has answered for so long [min]"),
}
"""Of each way to reach the owner, as ``channel.NAME.address``."""
MOST_NEAR = 3
"""So many settings are offered in place of one that there is not. [chosen: read at a glance]"""
_LIKE = 0.7
"""How alike two names must be, from 0 to 1, as difflib reckons it. [chosen: two letters changed about of ten are
still known]"""
_PART_FROM = 4
"""A word of fewer letters is no part of a name to go by. [chosen: shorter ones stand in many]"""
_CHANNEL = re.compile(r"channel\.(?P<name>.+)\.(?P<key>[a-z_]+)")


def channel_key(key: str) -> tuple[str, str] | None:
    """Return the name of the channel and of the key in ``channel.NAME.KEY``; None for any other key."""
    found = _CHANNEL.fullmatch(key)
    return (found["name"], found["key"]) if found and found["key"] in CHANNEL_KEYS else None


def known(key: str) -> Key:
    """Return a setting by its name.

    Raises
    ------
    BadInput
        Where there is none, naming the nearest ones.
    """
    channel = channel_key(key)
    if channel:
        return CHANNEL_KEYS[channel[1]]
    if key in KEYS:
        return KEYS[key]
    if key.startswith("tell.") and key.count(".") == 1:
        return Key("text", "", "no, quiet or ring")
    near = nearest(key)
    meant = f"Did you mean {' or '.join(near)}? " if near else ""
    raise BadInput(key[:60], "is no setting.", f"{meant}lehrling settings list has them all.")


def nearest(key: str) -> list[str]:
    """Return the settings that a mistyped name may stand for, the nearest first, at most MOST_NEAR; perhaps none.

    A name may be mistyped, lack its section, have another one, or be a part of a name: ``nmae``, ``power_kw``,
    ``owner.power_kw``, ``probe.type``.
    """
    typed = key[:60].lower().replace("-", "_")
    if typed.startswith("channel."):
        return [f"channel.NAME.{name}" for name in CHANNEL_KEYS]
    whole = get_close_matches(typed, KEYS, MOST_NEAR, _LIKE)
    names: dict[str, list[str]] = {}
    for known_key in KEYS:
        names.setdefault(known_key.split(".")[1], []).append(known_key)
    last = typed.rpartition(".")[2]
    alike = [found for name in get_close_matches(last, names, MOST_NEAR, _LIKE) for found in names[name]]
    holding = [name for name in KEYS if last in name] if len(last) >= _PART_FROM else []
    return list(dict.fromkeys([*whole[:1], *alike, *holding, *whole[1:]]))[:MOST_NEAR]


def number_of(name: str, text: str) -> float:
    """Return a number as it is typed (see daemon.typed_number).

    Raises
    ------
    BadInput
        Naming the setting or option, where it is none.
    """
    number, wrong = read_number(text)
    if number is None:
        raise BadInput(name, f"{shown(text)} {wrong}", "Write it in digits, such as 3.6."
                       if wrong == NOT_A_NUMBER else "")
    return number


def read_value(key: str, text: str) -> Any:
    """Return a setting's value as it stands in the file, from how it is typed.

    Raises
    ------
    BadInput
        Where it is not of the setting's kind.
    """
    kind, text = known(key).kind, text.strip()
    if kind == "whole":
        if not re.fullmatch(r"-?\d{1,9}", text):
            raise BadInput(key, f"{shown(text)} is not a whole number.", "Write it in digits.")
        return int(text)
    if kind == "number":
        return number_of(key, text)
    if kind == "flag":
        if text.lower() not in {"true", "yes", "false", "no"}:
            raise BadInput(key, f"{shown(text)} is neither true nor false.", "Write true or false.")
        return text.lower() in {"true", "yes"}
    if kind == "texts":
        return [part for part in re.split(r"[\s,]+", text) if part]
    return text
