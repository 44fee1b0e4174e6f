"""One connection to an MQTT broker, by Eclipse's client: each publication waits for the broker's acknowledgement.

The client (paho-mqtt, the extra ``lehrling[mqtt]``) is used in MQTT 3.1.1 (OASIS, 2014) and 5 (OASIS, 2019). Its
network loop runs only while this module is called, in the caller's thread. A loop of its own would answer the
broker's keep-alive even where nobody publishes any more, and the last will would never be told. Nothing is
subscribed to.
"""

from __future__ import annotations

import contextlib
import ssl
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from daemon.clock import SystemClock
from daemon.errors import BadInput

if TYPE_CHECKING:
    from paho.mqtt.client import Client, ConnectFlags
    from paho.mqtt.properties import Properties
    from paho.mqtt.reasoncodes import ReasonCode

ANSWER_S = 10.0
"""How long the broker may take to answer [s]. [chosen: a broker in the house answers in milliseconds, one far away
in a second or two]"""
QOS = 1
"""Quality of service 1, at least once: the broker acknowledges each publication. [source: MQTT 3.1.1, section
4.3]"""
_LOOK_S = 0.2
"""How long one look of the network loop may wait [s]. [chosen: a stop is heeded within it]"""
_LONGEST_KEEP_ALIVE_S = 65_535
"""The keep-alive has two bytes [s]. [source: MQTT 3.1.1, section 3.1.2.10]"""


class Refused(ConnectionError):
    """The broker acknowledged a publication by saying that it did not take it; the line goes on."""


class Line:
    """A client and its one connection; not connected until ``connect``.

    Parameters
    ----------
    client
        From ``new_client``, with its last will set.
    """

    def __init__(self, client: Client) -> None:
        self._client = client
        self._accepted = False
        self._refusal = ""
        client.connect_timeout = ANSWER_S
        client.on_connect = self._on_connect
        client.on_publish = self._on_publish

    def connect(self, host: str, port: int, keep_alive_s: float, **more: Any) -> None:
        """Connect and wait until the broker has accepted.

        Parameters
        ----------
        host, port
            The broker's.
        keep_alive_s
            The broker takes this end for dead after one and a half times as long without a packet from here [s].
        more
            What the client's ``connect`` takes besides.

        Raises
        ------
        OSError
            Where the broker can't be reached, refuses, or does not answer in ANSWER_S.
        """
        try:
            self._client.connect(host, port, keepalive=min(round(keep_alive_s), _LONGEST_KEEP_ALIVE_S), **more)
            self._wait(lambda: self._accepted)
        except ValueError as err:
            self.drop()
            raise ConnectionError(f"the client refused: {err}") from None
        except BaseException:
            self.drop()
            raise

    def publish(self, topic: str, payload: bytes, *, retain: bool, properties: Properties | None = None) -> None:
        """Publish ``payload`` under ``topic`` and wait for the broker's acknowledgement.

        Raises
        ------
        Refused
            Where the broker did not take it.
        OSError
            Where its answer does not come in ANSWER_S, or the line is lost.
        """
        self._refusal = ""
        sent = self._client.publish(topic, payload, qos=QOS, retain=retain, properties=properties)
        if sent.rc:
            raise ConnectionError("the line to the broker is lost")
        self._wait(sent.is_published)
        if self._refusal:
            raise Refused(f"{self._refusal}, for {topic}")

    def tend(self, for_s: float, *, until: Callable[[], bool] = lambda: False) -> None:
        """Keep the line alive for a while [s], or until asked to stop, with nothing to publish.

        Raises
        ------
        OSError
            Where it is lost.
        """
        clock = SystemClock()
        until_s = clock.now_s() + for_s
        while clock.now_s() < until_s and not until():
            if self._client.loop(min(_LOOK_S, for_s)):
                raise ConnectionError("the line to the broker is lost")

    def close(self) -> None:
        """Leave in order; the will is not published then."""
        with contextlib.suppress(OSError):
            self._client.disconnect()
        self.drop()

    def drop(self) -> None:
        """Close the line as it is; the broker takes that for a death."""
        line = self._client.socket()
        if line is not None:
            line.close()

    def _on_connect(self, client: Client, userdata: object, flags: ConnectFlags, reason: ReasonCode,
                    properties: Properties | None) -> None:
        """Note the broker's answer to the connection; called by the client within ``_wait``."""
        self._accepted = not reason.is_failure
        self._refusal = f"the broker refused: {reason}" if reason.is_failure else ""

    def _on_publish(self, client: Client, userdata: object, number: int, reason: ReasonCode,
                    properties: Properties | None) -> None:
        """Note a refusal: in MQTT 5 an acknowledgement may say that the message was not taken."""
        if reason.is_failure:
            self._refusal = f"the broker refused: {reason}"

    def _wait(self, done: Callable[[], bool]) -> None:
        """Run the client's network loop until ``done``, at most ANSWER_S."""
        clock = SystemClock()
        until_s = clock.now_s() + ANSWER_S
        while not done():
            if clock.now_s() >= until_s:
                raise TimeoutError("the broker does not answer")
            if self._client.loop(_LOOK_S) and not done():
                raise ConnectionError(self._refusal or "the line to the broker is lost")


def new_client(where: str, *, version: int, client_id: str = "") -> Client:
    """Return an unconnected client of the optional library, which is imported only where MQTT is asked for.

    Parameters
    ----------
    where
        The setting that asks for it.
    version
        Of the protocol: 4 is MQTT 3.1.1, 5 is MQTT 5.
    client_id
        By which the broker knows it again; empty where it need not.

    Raises
    ------
    BadInput
        Where the library is not installed.
    """
    try:
        from paho.mqtt.client import Client
        from paho.mqtt.enums import CallbackAPIVersion, MQTTProtocolVersion
    except ImportError:
        raise BadInput(where, "the library for MQTT is not installed.",
                       "Install Lehrling with its extra, lehrling[mqtt], or take the line out.") from None
    return Client(CallbackAPIVersion.VERSION2, client_id, protocol=MQTTProtocolVersion(version),
                  reconnect_on_failure=False)


class _ClosingSocket(ssl.SSLSocket):
    """Closes itself where the handshake fails; the client would leave it to the garbage collector."""

    def do_handshake(self, block: bool = False) -> None:
        """Shake hands, or close and raise."""
        try:
            super().do_handshake(block)
        except OSError:
            self.close()
            raise


def tls_context(ca_file: Path | None = None) -> ssl.SSLContext:
    """Return what checks the broker's certificate against the system's authorities, or the one of a file.

    Raises
    ------
    OSError
        Where the file can't be read or holds no certificate.
    """
    context = ssl.create_default_context(cafile=ca_file)
    context.sslsocket_class = _ClosingSocket
    return context
