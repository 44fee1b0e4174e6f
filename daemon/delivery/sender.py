"""Sending one message through one channel, with apprise; used by the delivery process alone."""

from __future__ import annotations

import logging
import re
import stat
import threading
from pathlib import Path
from typing import Literal, NamedTuple, Protocol

from daemon.errors import BadInput
from daemon.notify.alert_messages import Channel

Kind = Literal["wake", "look", "over"]
_APPRISE_TYPES = {"wake": "failure", "look": "warning", "over": "success"}


class Outcome(NamedTuple):
    """What one attempt came to; ``trouble`` is empty when the message was taken."""

    sent: bool
    trouble: str = ""


class Sender(Protocol):
    """Sends to one channel; returns an outcome for every trouble with the other side."""

    def __call__(self, title: str, body: str, kind: Kind) -> Outcome:
        """Try once, in bounded time.

        Raises
        ------
        BadInput
            Where the channel's address can't be used as it stands.
        """


def address(channel: Channel) -> str:
    """Return the channel's address from its file; it is a secret: never log, store or show it.

    Raises
    ------
    BadInput
        As ``secret`` does.
    """
    return secret(Path(channel.url_file), f'the address of channel "{channel.name}"')


def secret(path: Path, what: str) -> str:
    """Return the one line of a file that only this service may read.

    Raises
    ------
    BadInput
        When the file is missing, readable by everyone, or doesn't hold one line; ``what`` names it.
    """
    try:
        mode = path.stat().st_mode
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise BadInput(str(path), f"{what} is missing.",
                       "Write it into this file, one line, and chmod 640 it.") from None
    except (OSError, UnicodeDecodeError) as err:
        reason = err.strerror if isinstance(err, OSError) else "not UTF-8 text"
        raise BadInput(str(path), f"{what} can't be read: {reason}.",
                       "Give the file to the user that delivery runs as.") from None
    if mode & stat.S_IRWXO:
        raise BadInput(str(path), f"{what} can be read by everyone on this computer (mode {mode & 0o777:o}).",
                       f"chmod 640 {path}")
    lines = [line.strip() for line in text.splitlines() if line.strip() and not line.startswith("#")]
    if len(lines) != 1:
        raise BadInput(str(path), f"{what} should be one line; there are {len(lines)}.",
                       "Write one address a file, and a [[channel]] for each.")
    return lines[0]


class _Hush(logging.Filter):
    """Keeps apprise silent in this thread while it reads an address: one it does not know it writes into the log."""

    def __init__(self) -> None:
        super().__init__()
        self._reading = threading.local()

    def __enter__(self) -> None:
        self._reading.now = True

    def __exit__(self, *_: object) -> None:
        self._reading.now = False

    def filter(self, record: logging.LogRecord) -> bool:
        """Return whether the record may be written."""
        return not getattr(self._reading, "now", False)


_HUSH = _Hush()


class AppriseSender:
    """Sends through whatever service the channel's address names.

    The address is read at every attempt, so that a mended file needs no restart. Apprise bounds each
    step of a connection: 4 s for web services, 15 s for mail.
    """

    def __init__(self, channel: Channel) -> None:
        self.channel = channel

    def __call__(self, title: str, body: str, kind: Kind) -> Outcome:
        """Try once; judge the result by its value, since it is an object and not a bool."""
        import apprise

        talk = logging.getLogger("apprise")
        talk.propagate = False
        talk.addFilter(_HUSH)
        asset = apprise.AppriseAsset(
            app_id="Lehrling", app_desc="Lehrling", app_url="", image_url_mask="", image_url_logo="",
            storage_mode="memory", secure_logging=True, async_mode=False)
        service = apprise.Apprise(asset=asset)
        secret_url = address(self.channel)
        with _HUSH:
            known = service.add(secret_url)
        if not known:
            raise BadInput(str(self.channel.url_file),
                           f'the address of channel "{self.channel.name}" is not one that apprise knows.',
                           "Compare it with apprise's list of services; mailto:// is one of them.")
        result = service.notify(body=body, title=title, notify_type=_APPRISE_TYPES[kind], body_format="text")
        return Outcome(True) if result else Outcome(False, _trouble(result))


def _trouble(result: object) -> str:
    """Return what went wrong in words that can't hold the address: at most the server's own number."""
    lines = " ".join(str(getattr(entry, "message", "")) for entry in _logs(result))
    code = re.search(r"error=(\d{3})\b", lines)
    if code:
        return f"the server answered {code[1]}"
    return "no connection, or the server did not take it"


def _logs(result: object) -> list[object]:
    logs = getattr(result, "logs", None)
    return list(logs()) if callable(logs) else []
