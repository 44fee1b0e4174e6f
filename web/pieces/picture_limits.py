"""What a photograph may be, and what is said of one that can't be kept."""

from __future__ import annotations

from dataclasses import dataclass

MOST_BYTES = 12 * 1024 * 1024
"""Largest file that is taken [bytes]. [chosen: more than phones send]"""
MOST_PIXELS = 50_000_000
"""A JPEG of more pixels is refused before it is decoded, however small its file. [chosen: more than phones take]"""
MOST_UNSCALED_PIXELS = 16_000_000
"""The same for a picture that can only be decoded whole: PNG, WebP, and a JPEG that comes in passes. [chosen: more
than cameras of phones give; measured, a WebP of so many takes up to 19 bytes a pixel while it is drawn]"""
WHOLE_PX, SMALL_PX, THUMB_PX = 2000, 480, 192
"""Longer side of a kept picture, of its small one on a page, and of its thumbnail in a list [px]. [chosen: as large
as screens show; a thumbnail stands 96 px wide, and a phone has two dots for each]"""


class NotAPicture(ValueError):
    """What was sent can't be kept as a photograph; the message says why and what to do."""


@dataclass(frozen=True, slots=True)
class Kept:
    """A photograph as it was kept; ``mark`` names its three files."""

    mark: str
    width: int
    height: int
