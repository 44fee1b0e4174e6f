"""JSON with a tag of its content, so that a browser that has it already is sent nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping
from hashlib import sha256
from typing import Any

from flask import Response, request


def tagged_json(body: Mapping[str, Any]) -> Response:
    """Return ``body`` as JSON, or 304 with no body where the browser holds the same."""
    text = json.dumps(body, ensure_ascii=False, separators=(",", ":"))
    response = Response(text, mimetype="application/json")
    response.set_etag(sha256(text.encode()).hexdigest()[:24])
    response.headers["Cache-Control"] = "no-cache, private"
    response.make_conditional(request.environ)
    return response
