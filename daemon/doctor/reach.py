"""How people are reached: each channel, the sounder at the kiln, the page. Nothing is sent, and nothing sounds."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path

from daemon.delivery.sender import address, secret
from daemon.doctor.finding import Finding, good, mend, note
from daemon.errors import BadInput
from daemon.notify.alert_messages import Channel
from daemon.settings.config import Config
from daemon.settings.page_address import LOOPBACK
from daemon.store import outbox
from daemon.store.database import open_database
from daemon.store.outbox import Fate

_TRY_IT = "lehrling alerts test"


def channels(config: Config, record: Path) -> list[Finding]:
    """Return what is known of each channel."""
    if not config.channels:
        return [mend("channels", "There is none, so no phone rings.",
                     'Choose on the page, under "How Lehrling reaches you", or read docs/settings.md.')]
    return [_channel(channel, _last_fate(record, channel.name)) for channel in config.channels]


def _last_fate(record: Path, name: str) -> Fate | None:
    """Return what became of the newest message of a channel; None where none is known."""
    try:
        db = open_database(record, readonly=True)
        try:
            return outbox.last_fate(db, name)
        finally:
            db.close()
    except (sqlite3.Error, BadInput):
        return None


def _channel(channel: Channel, last: Fate | None) -> Finding:
    part = f"channel {channel.name}"
    try:
        address(channel)
    except BadInput as err:
        return mend(part, f"{err.where}: {err.problem}", err.remedy)
    if last is None:
        return note(part, "Its address is there. Nothing was sent by it yet.", f"Try it: {_TRY_IT} {channel.name}")
    if last.sent_utc is None and last.error:
        return mend(part, f"The last message was not taken: {last.error.rstrip('.')}.",
                    f"Look at its address and at the network, then: {_TRY_IT} {channel.name}")
    if last.sent_utc is None:
        return note(part, "Its address is there. A message waits to be sent.")
    return good(part, f"Its address is there. Its last message was taken on {last.sent_utc.astimezone():%-d %B %Y}.")


def sounder(config: Config, trouble: Sequence[str] | None) -> Finding:
    """Return how the sounder at the kiln is.

    Parameters
    ----------
    config
        The settings.
    trouble
        Sentences about it of whoever opened it; None where nobody did.
    """
    if config.sounder is None:
        return note("sounder", "There is none at the kiln. It would sound without any network.",
                    "docs/install.md names the parts, docs/settings.md the lines.")
    if trouble is None:
        return note("sounder", "It is set. It is opened by the daemon only, which does not run.")
    if trouble:
        return mend("sounder", " ".join(trouble), "Look at its pins in the settings, and at the unit's drop-in: "
                    'systemd/README.md, "Looking after it".')
    return good("sounder", "It could be opened. Whether it is heard in your bed, only you can tell.")


def sign_of_life(config: Config) -> list[Finding]:
    """Return whether the addresses of the sign of life can be read; nothing where none is set."""
    files = [file for file in (config.alive.url_file, config.alive.mqtt_file) if file is not None]
    return [_sign(file) for file in files]


def _sign(file: Path) -> Finding:
    try:
        secret(file, "the address of the sign of life")
    except BadInput as err:
        return mend("sign of life", f"{err.where}: {err.problem}", err.remedy)
    return good("sign of life", f"Its address is there, in {file.name}. Whether it comes, its receiver tells.")


def broker(config: Config) -> list[Finding]:
    """Return whether the login of the MQTT broker can be read; nothing where no broker is set."""
    if config.mqtt is None:
        return []
    if config.mqtt.login_file is not None:
        try:
            secret(config.mqtt.login_file, "the login of the MQTT broker")
        except BadInput as err:
            return [mend("MQTT broker", f"{err.where}: {err.problem}", err.remedy)]
    return [good("MQTT broker", f"The kiln is published at {config.mqtt.host}, under {config.mqtt.topic}. Whether it "
                 "comes, another program tells.")]


def page(config: Config, default_passcode_file: Path) -> Finding:
    """Return who can reach the page."""
    file = config.page.passcode_file or default_passcode_file
    if not file.exists() and config.probe.kind != "max31856":
        return note("page", "It has no passcode. A simulated or recorded kiln needs none.")
    if not file.exists() and not config.page.open_reading:
        return mend("page", "It has no passcode yet: it shows nothing until one is chosen.",
                    "Type on the box: lehrling web --set-passcode")
    if config.page.host in LOOPBACK and not config.page.behind_tls:
        return note("page", "It is reached from this computer only.",
                    "For your phone, type on the box: lehrling settings set page.host 0.0.0.0; then "
                    "sudo systemctl restart lehrling-web")
    return good("page", f"It has a passcode, and listens at port {config.page.port}.")
