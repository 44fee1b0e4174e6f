"""The page on a phone's home screen: its manifest, and icons drawn here."""

from __future__ import annotations

import threading
from functools import cache
from io import BytesIO

from flask import Blueprint, Response, abort, jsonify, request, url_for

from web.drawing.colours import INKS

BLUEPRINT = Blueprint("home_screen", __name__)

SIZES = (180, 192, 512)
"""Edges of the icons [px]. [common practice: 180 for one maker's phones, 192 and 512 for the others]"""
CURVE = ((3, 28), (12, 6), (16, 6), (20, 18), (25, 18), (29, 25))
"""A firing in the mark's square of 32, as in ``static/mark.svg``: climb, top, fall, anneal, and down.
[chosen: by eye]"""
ANNEAL = (14, 22)
"""The hatched anneal range, from and to, in the same square. [chosen: by eye]"""
MARGIN = 0.14
"""Left free at each edge, so that a phone may cut the icon round [share of the edge]. [common practice]"""
_FINER = 4
"""Drawn so many times larger and then shrunk, for smooth edges. [chosen: by eye]"""
_DRAWING = threading.Lock()


@BLUEPRINT.get("/manifest.webmanifest")
def manifest() -> Response:
    """Return what a phone asks for when the page is put on its home screen."""
    day = INKS["day"]
    answer = jsonify({
        "name": "Lehrling", "short_name": "Lehrling", "description": "Watches a glass kiln at night.",
        "start_url": url_for("now.show"), "scope": url_for("now.show"), "display": "standalone",
        "background_color": day["ground"], "theme_color": day["ground"],
        "icons": [{"src": url_for("home_screen.icon", size=size), "sizes": f"{size}x{size}", "type": "image/png",
                   "purpose": purpose} for size in SIZES[1:] for purpose in ("any", "maskable")],
    })
    answer.mimetype = "application/manifest+json"
    return answer


@BLUEPRINT.get("/icon-<int:size>.png")
def icon(size: int) -> Response:
    """Return an icon."""
    if size not in SIZES:
        abort(404, f"Icons have {', '.join(map(str, SIZES))} pixels.")
    with _DRAWING:
        picture = drawn(size)
    answer = Response(picture, mimetype="image/png")
    answer.headers["Cache-Control"] = "public, max-age=86400"
    answer.add_etag()
    answer.make_conditional(request.environ)
    return answer


@cache
def drawn(size: int) -> bytes:
    """Return the mark as a PNG of ``size`` pixels: the plan's band, the measured line, the hatched anneal range."""
    from PIL import Image, ImageDraw

    inks = INKS["day"]
    edge = size * _FINER
    scale = edge * (1 - 2 * MARGIN) / 32

    def at(x: float, y: float) -> tuple[float, float]:
        return edge * MARGIN + x * scale, edge * MARGIN + y * scale

    image = Image.new("RGB", (edge, edge), inks["ground"])
    hatch = Image.new("RGB", (edge, edge), inks["ground"])
    lines = ImageDraw.Draw(hatch)
    for foot in range(-32, 64, 4):
        lines.line([at(foot, ANNEAL[1]), at(foot + ANNEAL[1] - ANNEAL[0], ANNEAL[0])], fill=inks["hatch"],
                   width=round(scale * 1.1))
    left, top, right, bottom = *at(0, ANNEAL[0]), *at(32, ANNEAL[1])
    box = (round(left), round(top), round(right), round(bottom))
    image.paste(hatch.crop(box), box[:2])
    pen = ImageDraw.Draw(image)
    corners = [at(x, y) for x, y in CURVE]
    for ink, width in (("band", 6.0), ("ink", 2.0)):
        pen.line(corners, fill=inks[ink], width=round(width * scale), joint="curve")
        for x, y in (corners[0], corners[-1]):
            radius = width * scale / 2
            pen.ellipse([x - radius, y - radius, x + radius, y + radius], fill=inks[ink])
    out = BytesIO()
    image.resize((size, size), Image.Resampling.LANCZOS).quantize(32).save(out, "PNG", optimize=True)
    return out.getvalue()
