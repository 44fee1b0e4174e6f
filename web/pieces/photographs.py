"""Photographs: taken in, shown, taken out of sight and brought back."""

from __future__ import annotations

import os
import re
from typing import IO, cast

from flask import Blueprint, Response, abort, redirect, request, send_file, url_for
from werkzeug.wrappers import Response as AnyResponse

from daemon.store import photographs
from daemon.store.photographs import FOLDER, SIZES, Moment, Photograph
from web.firings import page as firing_page
from web.pieces import page as piece_page
from web.pieces.picture_limits import MOST_BYTES, NotAPicture
from web.pieces.reencoding_process import develop
from web.request.assets import FOREVER
from web.request.context import database, settings
from web.request.form import Form
from web.request.lookup import MAX_ID, find, find_piece
from web.settings import MAX_BODY_BYTES

BLUEPRINT = Blueprint("photographs", __name__)

Answer = AnyResponse | tuple[str, int]
UPLOADS = frozenset({"photographs.add_to_firing", "photographs.add_to_piece", "during.photograph",
                     "other_logs.send"})
"""Where a file may be sent, which is longer than any form."""
MOST_SENT = 2 * MOST_BYTES
"""Largest request with a photograph that is read [bytes]. [chosen: a photograph that is too large is still told so
beside its caption, which is kept]"""
_BUFFER_BYTES = 64 * 1024
"""How much of a form with a file is read at a time [bytes]. [source: Werkzeug, MultiPartParser, buffer_size]"""
MOST_OF_ONE = 60
"""Photographs of one piece or firing at most. [chosen: bounds the page and the disk]"""


@BLUEPRINT.before_app_request
def _room() -> None:
    """Let an upload be longer than any other form."""
    if request.endpoint in UPLOADS:
        request.max_content_length = MOST_SENT
        # What is left of one read and the next one lie in memory together; with room for one only, a picture of
        # more than a read is refused as if it were a long field.
        request.max_form_memory_size = MAX_BODY_BYTES + 2 * _BUFFER_BYTES


@BLUEPRINT.post("/firings/<int:firing_id>/photographs")
def add_to_firing(firing_id: int) -> Answer:
    """Keep a photograph of a firing."""
    firing, form = find(firing_id), Form(request.form)
    if not keep_photograph(form, firing_id=firing_id):
        return firing_page.show_with(firing, form), 400
    return redirect(url_for("firing.show", firing_id=firing_id, _anchor="pieces"), code=303)


@BLUEPRINT.post("/pieces/<int:piece_id>/photographs")
def add_to_piece(piece_id: int) -> Answer:
    """Keep a photograph of a piece."""
    piece, form = find_piece(piece_id), Form(request.form)
    if not keep_photograph(form, piece_id=piece_id):
        return piece_page.show_with(piece, form), 400
    return redirect(url_for("piece.show", piece_id=piece_id, _anchor="photographs"), code=303)


def keep_photograph(form: Form, *, firing_id: int | None = None, piece_id: int | None = None,
                    moment: Moment | None = None) -> bool:
    """Keep the photograph of a form; return False with ``form.wrong`` filled where it can't be.

    Parameters
    ----------
    form
        What was typed beside it.
    firing_id, piece_id
        Whose photograph it is, one of the two.
    moment
        When it was taken; None where the form says.
    """
    upload, caption = request.files.get("photograph"), form.line("caption")
    moment = moment or cast(Moment, form.choice("moment", ("before", "during", "after"), "after"))
    if upload is None or not upload.filename:
        form.wrong["photograph"] = "Choose a picture first."
    elif (size := _size_of(upload.stream)) > MOST_BYTES:
        form.wrong["photograph"] = (f"This picture has {size / 2**20:.1f} MB; at most {MOST_BYTES // 2**20} MB are "
                                    "taken. Send a smaller one, or let the phone make it smaller.")
    elif len(photographs.photographs(database(), firing_id=firing_id, piece_id=piece_id)) >= MOST_OF_ONE:
        form.wrong["photograph"] = f"There are {MOST_OF_ONE} pictures here already. Take one out first."
    if form.wrong or upload is None:
        return False
    try:
        kept = develop(upload.stream, settings().data_dir / FOLDER)
    except NotAPicture as error:
        form.wrong["photograph"] = str(error)
        return False
    except OSError:
        form.wrong["photograph"] = "The picture can’t be kept: the disk takes no writing now. Nothing was changed."
        return False
    photographs.add_photograph(
        database(), piece_id=piece_id, firing_id=firing_id, moment=moment, mark=kept.mark,
        width=kept.width, height=kept.height, caption=caption, now_utc=settings().clock.utc())
    return True


def _size_of(stream: IO[bytes]) -> int:
    """Return how long an upload is [bytes]."""
    size = stream.seek(0, os.SEEK_END)
    stream.seek(0)
    return size


@BLUEPRINT.get("/photographs/<mark>-<size>.jpg")
def picture(mark: str, size: str) -> Response:
    """Return one of a photograph's files."""
    if not re.fullmatch(r"[0-9a-f]{64}", mark) or size not in SIZES:
        abort(404, "There is no such picture here.")
    path = settings().data_dir.absolute() / FOLDER / f"{mark}-{size}.jpg"
    if size == "thumb" and not path.is_file():
        path = path.with_name(f"{mark}-small.jpg")  # kept before there were thumbnails
    if not path.is_file():
        abort(404, "That picture’s file is not there any more.")
    response = send_file(path, mimetype="image/jpeg")
    response.headers["Cache-Control"] = FOREVER.replace("public", "private")
    return response


@BLUEPRINT.post("/photographs/<int:photograph_id>/remove")
def remove(photograph_id: int) -> AnyResponse:
    """Take a photograph out of sight."""
    found = _found(photograph_id)
    photographs.set_removed(database(), photograph_id, settings().clock.utc())
    return redirect(_home(found, taken=photograph_id), code=303)


@BLUEPRINT.post("/photographs/<int:photograph_id>/restore")
def restore(photograph_id: int) -> AnyResponse:
    """Bring a photograph back."""
    found = _found(photograph_id)
    photographs.set_removed(database(), photograph_id, None)
    return redirect(_home(found), code=303)


def _found(photograph_id: int) -> Photograph:
    found = photographs.photograph(database(), photograph_id) if photograph_id < MAX_ID else None
    if found is None:
        abort(404, "There is no such picture here.")
    return found


def _home(found: Photograph, taken: int | None = None) -> str:
    if found.piece_id is not None:
        return url_for("piece.show", piece_id=found.piece_id, taken=taken)
    return url_for("firing.show", firing_id=found.firing_id, taken=taken)
