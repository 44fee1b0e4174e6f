"""Signs of life to the outside, given only while the watch itself goes on; their absence is noticed there."""

from __future__ import annotations

import json
import logging
import threading
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from daemon.delivery.mqtt import Broker, parse
from daemon.delivery.sender import secret
from daemon.errors import BadInput
from daemon.notify.trouble import Ailing, troubles_in
from daemon.service.state_file import NOT_JUDGED

LOG = logging.getLogger("lehrling.deliver")
ANSWER_S = 10.0
"""How long an address may take to answer [s]. [from: daemon.delivery.mqtt_line.ANSWER_S]"""
MISSED = 2
"""The broker waits for this many beats, and half as many again, before it publishes the last will. [chosen: one
lost packet is no death]"""
ALIVE, SILENT, GONE, ENDED = b"alive", b"silent", b"gone", b"ended"
"""What stands under the MQTT topic: all is well; the watch is silent; this computer is gone; ended in order."""


class WatchPulse:
    """Says whether the daemon has read, judged and kept since it was last asked.

    Parameters
    ----------
    path
        The state file, which the daemon writes after each of its five-second readings.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._seen: object = None

    def beats(self) -> bool:
        """Return whether the state file is another than the last time, has a probe, and a firing in it is judged."""
        try:
            present = json.loads(self._path.read_text(encoding="utf-8"))
            mark, judged = (present["written_utc"], present["now_s"]), present["sentence"] != NOT_JUDGED
            has_probe = all(trouble.ailing is not Ailing.PROBE for trouble in troubles_in(present))
        except (OSError, ValueError, KeyError, TypeError):
            return False
        before, self._seen = self._seen, mark
        return before is not None and before != mark and judged and has_probe


class Sign(Protocol):
    """One way a sign of life takes."""

    def give(self, *, alive: bool) -> None:
        """Give the sign, or keep it back where ``alive`` is false.

        Raises
        ------
        OSError, BadInput
            Where it does not get through.
        """

    def close(self) -> None:
        """End in order."""


class HttpSign:
    """Asks an address; whoever is there alarms when nobody has asked for a while."""

    def __init__(self, url_file: Path) -> None:
        self._file = url_file

    def give(self, *, alive: bool) -> None:
        """Ask the address once, in bounded time; a silent watch asks nothing."""
        if not alive:
            return
        url = secret(self._file, "the address of the sign of life")
        if not url.startswith(("http://", "https://")):
            raise BadInput(str(self._file), "is no web address.", "Write one line, https://…")
        try:
            with urllib.request.urlopen(url, timeout=ANSWER_S):
                return
        except urllib.error.HTTPError as err:
            raise OSError(f"the server answered {err.code}") from None
        except (OSError, ValueError):
            raise OSError("no connection") from None

    def close(self) -> None:
        """Do nothing: an address that is asked no more is the sign."""


class MqttSign:
    """Keeps ``alive`` under a topic, with a last will that says ``gone``."""

    def __init__(self, address_file: Path, every_s: float) -> None:
        self._file = address_file
        self._every_s = every_s
        self._broker: Broker | None = None

    def give(self, *, alive: bool) -> None:
        """Say how the watch is; connects anew where the line was lost."""
        try:
            if self._broker is None:
                text = secret(self._file, "the address of the MQTT broker")
                self._broker = Broker(parse(text, str(self._file)), MISSED * self._every_s, GONE)
            self._broker.publish(ALIVE if alive else SILENT)
        except OSError:
            if self._broker is not None:
                self._broker.drop()
            self._broker = None
            raise OSError("no broker, or it does not answer") from None

    def close(self) -> None:
        """Say that this end was meant."""
        if self._broker is not None:
            try:
                self._broker.publish(ENDED)
            except OSError:
                LOG.info("The broker did not hear that this ends.")
            self._broker.close()
            self._broker = None


class Pulse:
    """Gives one sign again and again, in a thread of its own, so that a slow one holds up no message."""

    def __init__(self, name: str, sign: Sign, beats: Callable[[], bool], every_s: float) -> None:
        self._name = name
        self._sign = sign
        self._beats = beats
        self._every_s = every_s
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._run, name=f"sign of life {name}", daemon=True)
        self.trouble = ""

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def beat(self) -> None:
        """Give the sign once; trouble is logged when it changes."""
        try:
            self._sign.give(alive=self._beats())
            trouble = ""
        except (OSError, BadInput) as err:
            trouble = err.text if isinstance(err, BadInput) else str(err)
        if trouble != self.trouble:
            LOG.warning("Sign of life, %s: %s", self._name, trouble or "gets through again.")
        self.trouble = trouble

    def close(self) -> None:
        """Stop, and end in order where that is quick."""
        self._end.set()
        self._thread.join(1.0)
        if not self._thread.is_alive():
            self._sign.close()

    def _run(self) -> None:
        self.beat()
        while not self._end.wait(self._every_s):
            self.beat()


def pulses(url_file: Path | None, mqtt_file: Path | None, every_s: float, state_file: Path) -> list[Pulse]:
    """Return the pulses that the settings ask for."""
    found = []
    if url_file is not None:
        found.append(Pulse("http", HttpSign(url_file), WatchPulse(state_file).beats, every_s))
    if mqtt_file is not None:
        found.append(Pulse("mqtt", MqttSign(mqtt_file, every_s), WatchPulse(state_file).beats, every_s))
    return found
