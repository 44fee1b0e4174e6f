"""What never changes between two versions, compressed once and kept by browsers for good.

These are plotly's own packaged script, served from the environment, and the page's styles and scripts.
"""

from __future__ import annotations

import gzip
import threading
from functools import cache
from hashlib import sha256
from importlib.resources import files
from pathlib import Path
from typing import NamedTuple

from flask import Blueprint, Response, abort, request, url_for
from werkzeug.wrappers import Response as AnyResponse

BLUEPRINT = Blueprint("assets", __name__)

FOREVER = "public, max-age=31536000, immutable"
_COMPRESSING = threading.Lock()
_IN_WORDS = (".css", ".js", ".svg")
"""Endings of files that are worth compressing."""


class Script(NamedTuple):
    """The script as it leaves the server."""

    mark: str
    """Of its content, so that another version has another address."""
    packed: bytes


def _file() -> Path:
    return Path(str(files("plotly") / "package_data" / "plotly.min.js"))


@cache
def _mark(path: Path, size: int, changed_ns: int) -> str:
    return sha256(path.read_bytes()).hexdigest()[:16]


def script_mark() -> str:
    """Return the mark of the packaged script's content."""
    path = _file()
    state = path.stat()
    return _mark(path, state.st_size, state.st_mtime_ns)


@cache
def _packed(mark: str) -> bytes:
    return gzip.compress(_file().read_bytes(), compresslevel=6, mtime=0)


def script() -> Script:
    """Return the script, compressed the first time it is asked for and kept after that."""
    mark = script_mark()
    with _COMPRESSING:
        return Script(mark, _packed(mark))


@BLUEPRINT.get("/plotly-<mark>.js")
def plotly_script(mark: str) -> Response:
    """Return plotly's script under the address of its content."""
    found = script()
    if mark != found.mark:
        abort(404, "That is not the plotting script of this version. Load the page again.")
    if request.accept_encodings["gzip"] > 0:
        response = Response(found.packed, mimetype="text/javascript")
        response.headers["Content-Encoding"] = "gzip"
    else:
        response = Response(gzip.decompress(found.packed), mimetype="text/javascript")
    response.headers["Cache-Control"] = FOREVER
    response.headers["Vary"] = "Accept-Encoding"
    return response


def pack(response: AnyResponse, path: Path, mark: str) -> None:
    """Compress the answer that holds one of the page's own files, where the browser takes that.

    Parameters
    ----------
    response
        The file as it would be sent.
    path
        Where it lies.
    mark
        Of its content.
    """
    if response.status_code != 200 or path.suffix not in _IN_WORDS:
        return
    response.headers["Vary"] = "Accept-Encoding"
    if request.accept_encodings["gzip"] <= 0 or request.method != "GET":
        return
    response.close()  # the file itself
    response.direct_passthrough = False
    response.set_data(_packed_file(path, mark))
    response.headers["Content-Encoding"] = "gzip"


@cache
def _packed_file(path: Path, mark: str) -> bytes:
    """Return a file compressed; ``mark`` is of its content, so that another one is compressed anew."""
    del mark
    return gzip.compress(path.read_bytes(), compresslevel=9, mtime=0)


def script_address() -> str:
    """Return the address of plotly's script."""
    return url_for("assets.plotly_script", mark=script_mark())
