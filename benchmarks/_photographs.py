"""Photographs for ``benchmarks.bench_page``: what a phone sends, and what stands in a list of 5,000."""

from __future__ import annotations

import http.client
import random
import shutil
from io import BytesIO
from pathlib import Path
from urllib.parse import urlsplit

from PIL import Image, ImageFilter

from daemon.store.photographs import FOLDER
from web.pieces.reencoding_process import develop

LISTED = 61
"""Firings and pieces that stand on one page of a list, with one to spare."""


def glass_like() -> bytes:
    """Return a JPEG with soft and with fine structure, as a photograph of a bowl on a table has."""
    drawn = random.Random(3)
    size = (1600, 1200)
    coarse = Image.frombytes("RGB", (40, 30), drawn.randbytes(40 * 30 * 3)).resize(size, Image.Resampling.BICUBIC)
    fine = Image.frombytes("RGB", size, drawn.randbytes(3 * size[0] * size[1])).filter(ImageFilter.GaussianBlur(2))
    body = BytesIO()
    Image.blend(coarse, fine, 0.3).save(body, "JPEG", quality=90)
    return body.getvalue()


def sand() -> bytes:
    """Return a JPEG of 11 MB: noise that hardly can be compressed, as frost or sand on a phone's picture."""
    body = BytesIO()
    noise = random.Random(1).randbytes(4000 * 3000 * 3)
    Image.frombytes("RGB", (4000, 3000), noise).save(body, "JPEG", quality=91)
    return body.getvalue()


def put_thumbnails(folder: Path, marks: list[str]) -> int:
    """Keep one photograph under each mark; return how large the smallest of its files is [bytes]."""
    kept = develop(BytesIO(glass_like()), folder / FOLDER)
    files = sorted((folder / FOLDER).glob(f"{kept.mark}-*.jpg"))
    for mark in marks:
        for file in files:
            shutil.copyfile(file, file.with_name(file.name.replace(kept.mark, mark)))
    return min(file.stat().st_size for file in files)


def send(address: str, path: str, picture: bytes) -> int:
    """Send a photograph as a browser does; return the status of the answer."""
    to, edge = urlsplit(address), "edge-of-a-part"
    body = (f'--{edge}\r\nContent-Disposition: form-data; name="moment"\r\n\r\nafter\r\n--{edge}\r\n'
            'Content-Disposition: form-data; name="photograph"; filename="a.jpg"\r\nContent-Type: image/jpeg\r\n\r\n'
            ).encode() + picture + f"\r\n--{edge}--\r\n".encode()
    line = http.client.HTTPConnection(to.hostname or "", to.port, timeout=90)
    try:
        line.request("POST", path, body, {
            "Content-Type": f"multipart/form-data; boundary={edge}", "Origin": address,
            "Sec-Fetch-Site": "same-origin"})
        answer = line.getresponse()
        answer.read()
        return answer.status
    finally:
        line.close()
