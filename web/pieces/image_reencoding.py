"""Photographs drawn anew before they are kept: no place, time or camera in them, and nothing but a picture."""

from __future__ import annotations

import threading
import warnings
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import IO

from PIL import Image, ImageOps, UnidentifiedImageError

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 50_000_000
"""A picture of more pixels is refused before it is unfolded, however small its file. [chosen: more than phones
take]"""
MOST_BYTES = 12 * 1024 * 1024
"""Largest file that is taken [bytes]. [chosen: more than phones send]"""
WHOLE_PX, SMALL_PX = 2000, 480
"""Longer side of a kept picture, and of its small one [px]. [chosen: as large as screens show]"""
_QUALITY = 85
"""Quality of the JPEG. [common practice]"""
_ONE_AT_A_TIME = threading.Lock()
"""A picture of twelve megapixels takes some 70 MB while it is drawn."""


class NotAPicture(ValueError):
    """What was sent can't be kept as a photograph; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A photograph as it was kept."""

    mark: str
    width: int
    height: int


def develop(upload: IO[bytes], folder: Path) -> Kept:
    """Keep a photograph, whole and small, under the hash of what was drawn.

    Raises
    ------
    NotAPicture
        Where it is none, is broken, or is larger than any camera takes.
    OSError
        Where the folder can't be written.
    """
    with _ONE_AT_A_TIME:
        whole, small, size = _draw(upload)
    mark = sha256(whole).hexdigest()
    folder.mkdir(mode=0o750, exist_ok=True)
    for name, body in ((f"{mark}-whole.jpg", whole), (f"{mark}-small.jpg", small)):
        part = folder / f"{name}.part"
        part.write_bytes(body)
        part.replace(folder / name)
    return Kept(mark, *size)


def _draw(upload: IO[bytes]) -> tuple[bytes, bytes, tuple[int, int]]:
    """Return what ``_drawn`` does; whatever the decoder raises becomes a NotAPicture."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            return _drawn(upload)
    except NotAPicture:
        raise
    except Image.DecompressionBombError:
        raise NotAPicture(_TOO_LARGE) from None
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError, TypeError, OverflowError):
        raise NotAPicture("This is no picture that can be read. Send a JPEG, PNG or WebP; some phones must be told "
                          "to take the most compatible kind.") from None


_TOO_LARGE = f"This picture has more than {MOST_PIXELS // 1_000_000} million points. Send a smaller one."


def _drawn(upload: IO[bytes]) -> tuple[bytes, bytes, tuple[int, int]]:
    """Return an upload drawn anew, upright on white: whole, small (both JPEG), and the whole one's size [px]."""
    with Image.open(upload, formats=FORMATS) as image:
        if image.width * image.height > MOST_PIXELS:
            raise NotAPicture(_TOO_LARGE)
        image.draft("RGB", (WHOLE_PX, WHOLE_PX))
        image.load()
        upright = ImageOps.exif_transpose(image)
    ground = Image.new("RGB", upright.size, "white")
    shown = upright.convert("RGBA") if upright.mode in ("P", "LA", "PA", "RGBA") else upright.convert("RGB")
    ground.paste(shown, mask=shown if shown.mode == "RGBA" else None)
    ground.thumbnail((WHOLE_PX, WHOLE_PX))
    small = ground.copy()
    small.thumbnail((SMALL_PX, SMALL_PX))
    return _jpeg(ground), _jpeg(small), ground.size


def _jpeg(image: Image.Image) -> bytes:
    body = BytesIO()
    image.save(body, "JPEG", quality=_QUALITY, optimize=True)
    return body.getvalue()
