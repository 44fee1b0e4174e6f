"""A question to the daemon by its socket, from the page or a command."""

from __future__ import annotations

import json
import socket
from collections.abc import Mapping
from pathlib import Path
from typing import Any

_CALL_S = 6.0
"""How long to wait for an answer [s]. [chosen: a second more than the daemon waits itself]"""
_LONGEST_ANSWER = 65_536
"""Longest answer that is read [bytes]. [chosen: far beyond any answer]"""


def call(path: Path, kind: str, payload: Mapping[str, Any]) -> str | None:
    """Return what the daemon answers by its socket; None where it does not answer."""
    try:
        with socket.socket(socket.AF_UNIX) as line:
            line.settimeout(_CALL_S)
            line.connect(str(path))
            line.sendall(json.dumps({"kind": kind, "payload": dict(payload)}).encode() + b"\n")
            with line.makefile("rb") as answer:
                said = json.loads(answer.readline(_LONGEST_ANSWER))
    except (OSError, ValueError):
        return None
    outcome = said.get("outcome", said.get("error")) if isinstance(said, dict) else None
    return outcome if isinstance(outcome, str) else None
