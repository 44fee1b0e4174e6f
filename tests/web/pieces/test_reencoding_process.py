"""Decoding in a process of its own: in bounded memory and time, a picture at a time, and through the real server."""

from __future__ import annotations

import random
import struct
import subprocess
import sys
import threading
import zlib
from io import BytesIO

import pytest
from PIL import Image

from web.pieces import reencoding_process
from web.pieces.picture_limits import NotAPicture
from web.pieces.reencoding_process import develop


def _noisy_jpeg(width: int, height: int, quality: int) -> bytes:
    """A picture like a phone's of frost or sand: hardly to be compressed, with every byte in it."""
    body = BytesIO()
    noise = random.Random(1).randbytes(width * height * 3)
    Image.frombytes("RGB", (width, height), noise).save(body, "JPEG", quality=quality)
    return body.getvalue()


def _grey_16_bits(side: int) -> bytes:
    """A PNG of few bytes and many pixels, each of sixteen bits."""
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
    rows = zlib.compressobj()
    packed = b"".join(rows.compress(b"\0" * (1 + 2 * side)) for _ in range(side)) + rows.flush()
    head = struct.pack(">IIBBBBB", side, side, 16, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")


@pytest.mark.parametrize(("size", "quality", "megabytes"), [
    ((800, 600), 93, 0.5), ((2000, 1600), 91, 3.0), ((4000, 3000), 91, 11.0)])
def test_a_photograph_of_a_phone_is_kept_by_the_real_server(real_server, studio, size, quality, megabytes):
    studio.fill(until_s=3000.0, ended=True)
    body = _noisy_jpeg(*size, quality)
    assert len(body) / 1e6 == pytest.approx(megabytes, rel=0.06)
    status, text = real_server.post_photograph("/pieces/1/photographs", body, moment="after", caption="frost")
    assert status == 303, text
    with Image.open(next((studio.folder / "photographs").glob("*-whole.jpg"))) as kept:
        assert kept.width == min(size[0], 2000)
    assert real_server.memory_mb() < 110


def test_sixteen_bits_a_pixel_keep_their_brightness(tmp_path):
    body = BytesIO()
    Image.new("I;16", (40, 30), 0x8000).save(body, "PNG")
    kept = develop(body, tmp_path / "photographs")
    with Image.open(tmp_path / "photographs" / f"{kept.mark}-whole.jpg") as image:
        assert image.getpixel((20, 15)) == pytest.approx((128, 128, 128), abs=2)


def test_a_small_file_of_fifty_million_pixels_is_refused_before_it_is_decoded(tmp_path):
    """379 kB cost 1.7 GB of memory where such a picture was unfolded."""
    body = _grey_16_bits(7071)
    assert len(body) < 400_000
    code = ("import re, sys, web.pieces.reencoding_process as process\n"
            "process.main(sys.argv[1:])\n"
            "print(re.search(r'VmHWM:\\s+([0-9]+)', open('/proc/self/status').read())[1])")
    (tmp_path / "big.png").write_bytes(body)
    with (tmp_path / "big.png").open("rb") as source:
        ran = subprocess.run([sys.executable, "-c", code, *(str(tmp_path / name) for name in "wst")], stdin=source,
                             capture_output=True, text=True, check=True)
    said, most_kb = ran.stdout.rsplit("}", 1)
    assert "50 million points, more than 16 million. Send a smaller one." in said
    assert int(most_kb) < 60_000


def test_a_decoder_that_takes_too_much_memory_is_refused_with_a_sentence(tmp_path, monkeypatch):
    monkeypatch.setenv("PYTHONPATH", str(tmp_path / "site"))
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "sitecustomize.py").write_text(
        "import web.pieces.picture_limits as limits\nlimits.MOST_UNSCALED_PIXELS = 10**12\n"
        "limits.MOST_PIXELS = 10**12\n", encoding="utf-8")
    with pytest.raises(NotAPicture, match=r"memory.*Send a smaller one"):
        develop(BytesIO(_grey_16_bits(9400)), tmp_path / "photographs")
    assert not list((tmp_path / "photographs").iterdir())


def test_a_decoder_that_never_ends_is_ended(tmp_path, monkeypatch):
    monkeypatch.setattr(reencoding_process, "LONGEST_S", 0.01)
    with pytest.raises(NotAPicture, match="took too long"):
        develop(BytesIO(_noisy_jpeg(60, 40, 80)), tmp_path / "photographs")


def test_a_third_picture_at_once_is_asked_to_come_again(tmp_path, monkeypatch):
    begun, go_on = threading.Semaphore(0), threading.Event()

    def slow(*_):
        begun.release()
        go_on.wait(120)
        raise NotAPicture("done")

    monkeypatch.setattr(reencoding_process, "_developed", slow)

    def send():
        with pytest.raises(NotAPicture, match="done"):
            develop(BytesIO(b""), tmp_path)

    first = threading.Thread(target=send)
    first.start()
    assert begun.acquire(timeout=60)
    second = threading.Thread(target=send)
    second.start()
    while reencoding_process._ROOM_TO_WAIT._value:  # until the second one waits
        threading.Event().wait(0.01)
    try:
        with pytest.raises(NotAPicture, match="Another picture is being kept just now"):
            develop(BytesIO(b""), tmp_path)
    finally:
        go_on.set()
        first.join(60)
        second.join(60)


def test_the_page_itself_imports_no_decoder(studio):
    ran = subprocess.run([sys.executable, "-c", "import sys, web.app; print('PIL' in sys.modules)"],
                         capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "False"
