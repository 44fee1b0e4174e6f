"""The line to a box: what its page gives is asked for over HTTP, within a time and a size."""

from __future__ import annotations

import http.client
import json
import socket
import ssl
from typing import Any
from urllib.parse import urlencode, urlsplit

from daemon.delivery.sender import secret
from daemon.errors import BadInput
from daemon.settings.mqtt import is_at_home
from daemon.studio.given import FORMAT, VERSION
from daemon.studio.settings import Box

ANSWER_S = 20.0
"""How long a box may take to go on with an answer [s]. [chosen: a Raspberry Pi that reads ten minutes of thirty
firings needs a second]"""
MOST_BYTES = 16 * 1024 * 1024
"""The longest answer that is read [bytes]. [derived: 100,000 firings in an overview are some 10 MB]"""
_BLOCK_BYTES = 64 * 1024
"""Read in one go. [chosen: small against MOST_BYTES]"""
_LONGEST_SAID = 200
"""Characters of a box's own sentence that are told on. [chosen: two lines]"""


class Silent(Exception):
    """The box does not answer; it is asked again in the next round."""


class Refused(Exception):
    """The box answers, and gives nothing: why, in a sentence."""


def overview(box: Box, known: str) -> dict[str, Any]:
    """Return the overview of a box.

    Raises
    ------
    Silent, Refused
        As ``ask`` does; and where something else than a box of this version answers.
    """
    found = ask(box, "overview", known=known)
    if found.get("format") != FORMAT or not isinstance(found.get("version"), int):
        raise Refused(f"What answers at {box.address} is no box of Lehrling.")
    if found["version"] != VERSION:
        raise Refused(f"The box gives version {found['version']} of what is collected; version {VERSION} is known "
                      "here. Update the older one of the two: lehrling update")
    return found


def ask(box: Box, what: str, **query: object) -> dict[str, Any]:
    """Return what a box answers.

    Raises
    ------
    Silent
        Where it does not answer in time.
    Refused
        Where it refuses, or answers what can't be read.
    """
    try:
        token = secret(box.token_file, "the token of the box")
    except BadInput as err:
        raise Refused(err.text) from None
    if not token.isascii() or not token.isalnum():
        raise Refused(f"{box.token_file}: holds no token. On the box, lehrling studio token prints it.")
    line = _line(box)
    try:
        line.request("GET", f"/collect/{what}.json?{urlencode(query)}", headers={"Authorization": f"Bearer {token}"})
        answer = line.getresponse()
        body = _body(answer, box)
    except (OSError, http.client.HTTPException) as err:
        raise Silent(getattr(err, "strerror", None) or str(err) or type(err).__name__) from None
    finally:
        line.close()
    if answer.status != 200:
        said = " ".join(body.decode(errors="replace").split())[:_LONGEST_SAID]
        raise Refused(said if answer.status in (401, 404) and said and "<" not in said else
                      f"The box answers {answer.status} {answer.reason}.")
    try:
        found = json.loads(body)
    except (ValueError, RecursionError):
        found = None
    if not isinstance(found, dict):
        raise Refused(f"What answers at {box.address} is no box of Lehrling.")
    return found


def _line(box: Box) -> http.client.HTTPConnection:
    """Return a connection that is not open yet; an unencrypted one goes to the home network only."""
    parts = urlsplit(box.address)
    host = parts.hostname or ""
    if parts.scheme == "https":
        return http.client.HTTPSConnection(host, parts.port, timeout=ANSWER_S, context=ssl.create_default_context())
    port = parts.port or 80
    try:
        found = [str(entry[4][0]) for entry in socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)]
    except OSError as err:
        raise Silent(err.strerror or str(err)) from None
    near = next((address for address in found if is_at_home(address)), None)
    if near is None:
        raise Refused(f"{host} is not in the home network, and the line to it is not encrypted. Write https:// in "
                      "its address.")
    return http.client.HTTPConnection(near, port, timeout=ANSWER_S)


def _body(answer: http.client.HTTPResponse, box: Box) -> bytes:
    blocks, size = [], 0
    while block := answer.read(_BLOCK_BYTES):
        size += len(block)
        if size > MOST_BYTES:
            raise Refused(f"What answers at {box.address} gives more than {MOST_BYTES // 1024**2} MiB at once.")
        blocks.append(block)
    return b"".join(blocks)
