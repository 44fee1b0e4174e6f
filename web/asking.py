"""Asking the daemon to do something: the page only writes the request down and leads on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import redirect, url_for
from werkzeug.wrappers import Response

from daemon.store import requests
from web.house import database, settings

SOON_S = 300.0
"""A request the daemon did not take within this is not done later, when nobody expects it [s]."""


def ask(kind: str, payload: Mapping[str, Any]) -> Response:
    """Write a request down and lead to Now, which tells what becomes of it."""
    request_id = requests.put(database(), kind, payload, settings().clock.utc(), SOON_S)
    return redirect(url_for("now.now", asked=request_id), code=303)
