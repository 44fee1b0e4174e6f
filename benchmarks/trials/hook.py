"""A web hook on loopback that notes the number of every message it takes."""

from __future__ import annotations

import http.server
import json
import re
import socket
import threading


class Hook:
    """Listens on a port of its own, or on ``port``; ``taken`` holds the numbers in the order of arrival."""

    def __init__(self, port: int = 0) -> None:
        self.taken: list[int] = []
        taken = self.taken

        class Handler(http.server.BaseHTTPRequestHandler):
            def do_POST(self) -> None:
                body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))["message"]
                found = re.search(r"^Message (\d+);", body, re.MULTILINE)
                if found is not None:
                    taken.append(int(found[1]))
                self.send_response(200 if found else 500)
                self.end_headers()

            def log_message(self, format: str, *args: object) -> None:
                """Say nothing."""

        self._server = http.server.ThreadingHTTPServer(("127.0.0.1", port), Handler)
        self._server.daemon_threads = True
        threading.Thread(target=self._server.serve_forever, args=(0.05,), daemon=True).start()

    @property
    def address(self) -> str:
        """Return its address, as a channel's file holds it."""
        return f"json://127.0.0.1:{self._server.server_port}/"

    def close(self) -> None:
        """Stop listening."""
        self._server.shutdown()
        self._server.server_close()


def free_port() -> int:
    """Return a port of loopback at which nobody listens."""
    with socket.socket() as line:
        line.bind(("127.0.0.1", 0))
        return int(line.getsockname()[1])
