"""A picture drawn anew: no place, time or camera in it, and nothing but a picture.

Runs in the process of ``reencoding_process`` only, so that the page itself never decodes what was sent.
"""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import IO

from PIL import Image, ImageOps, UnidentifiedImageError

from web.pieces.picture_limits import MOST_PIXELS, MOST_UNSCALED_PIXELS, SMALL_PX, THUMB_PX, WHOLE_PX, NotAPicture

FORMATS = ("JPEG", "PNG", "WEBP")
_QUALITY = 85
_THUMB_QUALITY = 50
"""Quality of the JPEG, and of a thumbnail, of which a page holds many, on screens of two dots a pixel.
[common practice]"""
_SIXTEEN_BITS = ("I", "I;16", "I;16B", "I;16L", "I;16N")
"""Pillow's modes of a grey picture with sixteen bits a pixel."""
TOO_LARGE = "This picture has {has:.0f} million points, more than {most} million. Send a smaller one."
NO_ROOM = "This picture takes more memory than this computer has for one. Send a smaller one."
NO_PICTURE = ("This is no picture that can be read. Send a JPEG, PNG or WebP; some phones must be told to take the "
              "most compatible kind.")


def draw(source: IO[bytes], whole: Path, small: Path, thumb: Path) -> tuple[int, int]:
    """Draw a picture upright on white, in three sizes, as JPEG files; return the whole one's size [px].

    Parameters
    ----------
    source
        The file as it was sent.
    whole, small, thumb
        Where the three are written.

    Raises
    ------
    NotAPicture
        Where it is none, is broken, or has more pixels than are taken; judged by its head, before it is decoded.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return _drawn(source, whole, small, thumb)
    except NotAPicture:
        raise
    except MemoryError:
        raise NotAPicture(NO_ROOM) from None
    except Image.DecompressionBombError:
        raise NotAPicture(TOO_LARGE.format(has=2 * (Image.MAX_IMAGE_PIXELS or 0) / 1e6,
                                           most=MOST_PIXELS // 1_000_000)) from None
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError, EOFError, TypeError, OverflowError):
        raise NotAPicture(NO_PICTURE) from None


def _drawn(source: IO[bytes], whole: Path, small: Path, thumb: Path) -> tuple[int, int]:
    with Image.open(source, formats=FORMATS) as image:
        most = MOST_PIXELS if image.format == "JPEG" and "progressive" not in image.info else MOST_UNSCALED_PIXELS
        if image.width * image.height > most:
            raise NotAPicture(TOO_LARGE.format(has=image.width * image.height / 1e6, most=most // 1_000_000))
        image.draft("RGB", (WHOLE_PX, WHOLE_PX))
        shown = _smaller(image)
        upright = ImageOps.exif_transpose(shown)
    ground = Image.new("RGB", upright.size, "white")
    ground.paste(upright, mask=upright if upright.mode == "RGBA" else None)
    ground.save(whole, "JPEG", quality=_QUALITY, optimize=True)
    size = ground.size
    for file, side_px, quality in ((small, SMALL_PX, _QUALITY), (thumb, THUMB_PX, _THUMB_QUALITY)):
        ground.thumbnail((side_px, side_px))
        ground.save(file, "JPEG", quality=quality, optimize=True)
    return size


def _smaller(image: Image.Image) -> Image.Image:
    """Return a picture as RGB or RGBA, no larger than is kept; scaled down before it is copied."""
    image.load()
    shown: Image.Image = image
    if image.mode in _SIXTEEN_BITS:
        shown = image.convert("I").point(lambda value: value / 256).convert("L")
    elif image.mode in ("P", "PA", "1"):
        shown = image.convert("RGBA")
    shown.thumbnail((WHOLE_PX, WHOLE_PX))
    return shown.convert("RGBA" if shown.mode in ("LA", "RGBA") else "RGB")
