"""A small Unix socket: answers with the present state, and takes requests when the file can't carry them.

One line of JSON each way: ``{"kind": "present"}``, or a kind of request with its ``payload``.
"""

from __future__ import annotations

import json
import logging
import queue
import socketserver
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

LOG = logging.getLogger(__name__)
FILE_NAME = "lehrling.sock"
LONGEST_LINE = 65_536
"""Longest request that is read [bytes]. [chosen: far beyond any request]"""
ANSWER_S = 5.0
"""How long a caller waits for the outcome of a request [s]. [chosen: some ticks of a second]"""
CALLERS = 8
"""So many callers are served at once. [chosen: page, delivery and a few commands]"""


@dataclass
class Call:
    """A request by the socket; the daemon's tick fills in the outcome."""

    kind: str
    payload: Mapping[str, Any]
    outcome: str = ""
    done: threading.Event = field(default_factory=threading.Event)

    def settle(self, outcome: str) -> None:
        """Give the caller the outcome."""
        self.outcome = outcome
        self.done.set()


class ControlSocket:
    """Serves the socket in threads of its own; the daemon's thread only looks into ``calls``.

    Parameters
    ----------
    path
        Of the socket; an old one is removed.
    present
        Returns the state as one line of JSON.
    calls
        Where requests go.
    """

    def __init__(self, path: Path, present: Callable[[], str], calls: queue.SimpleQueue[Call]) -> None:
        self.calls = calls
        self._path = path
        path.unlink(missing_ok=True)
        self._server = _Server(str(path), self, present)
        path.chmod(0o660)
        self._thread = threading.Thread(target=self._server.serve_forever, args=(0.2,), name="control socket",
                                        daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stop serving and remove the socket."""
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()
        self._path.unlink(missing_ok=True)


class _Server(socketserver.ThreadingUnixStreamServer):
    daemon_threads = True
    block_on_close = False
    request_queue_size = 4 * CALLERS

    def __init__(self, path: str, control_socket: ControlSocket, present: Callable[[], str]) -> None:
        self.control_socket = control_socket
        self.present = present
        self.seats = threading.BoundedSemaphore(CALLERS)
        super().__init__(path, _Handler)

    def verify_request(self, request: Any, client_address: Any) -> bool:
        """Turn away callers beyond the seats there are."""
        return self.seats.acquire(blocking=False)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """Serve one caller and free its seat."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self.seats.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Log a caller's trouble in a line; it does not concern the kiln."""
        LOG.warning("A call by the socket failed.", exc_info=True)


class _Handler(socketserver.StreamRequestHandler):
    timeout = ANSWER_S
    server: _Server

    def handle(self) -> None:
        """Answer one line."""
        try:
            line = self.rfile.readline(LONGEST_LINE)
            self.wfile.write(self._answer(line).encode() + b"\n")
        except (TimeoutError, ConnectionError):
            return

    def _answer(self, line: bytes) -> str:
        """Return the answer to one line: the present, the outcome of a request, or what is wrong with it."""
        try:
            asked = json.loads(line)
            kind, payload = asked["kind"], asked.get("payload", {})
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            return json.dumps({"error": 'Write one line: {"kind": "…", "payload": {…}}'})
        if kind == "present":
            return self.server.present()
        if not isinstance(kind, str) or not isinstance(payload, dict):
            return json.dumps({"error": "kind is a text and payload a table"})
        call = Call(kind, payload)
        self.server.control_socket.calls.put(call)
        return json.dumps({"outcome": call.outcome if call.done.wait(ANSWER_S) else "waiting"})
