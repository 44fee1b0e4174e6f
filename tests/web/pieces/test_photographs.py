"""Photographs: drawn anew, nothing of the camera kept, bombs and impostors refused, taken out and brought back."""

from __future__ import annotations

import re
import struct
import zlib
from io import BytesIO

import pytest
from PIL import Image

from web.pieces.picture_limits import NotAPicture
from web.pieces.reencoding_process import develop

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


def _picture(kind="JPEG", size=(600, 400), mode="RGB", **others):
    body = BytesIO()
    Image.new(mode, size, "teal" if mode != "P" else 3).save(body, kind, **others)
    return body.getvalue()


def _bomb(width=40_000, height=40_000):
    """A PNG of a few hundred bytes whose head promises 1.6 thousand million points."""
    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 100)) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


@pytest.mark.parametrize("body", [
    _picture(), _picture("PNG", mode="RGBA"), _picture("PNG", mode="P"), _picture("WEBP"), _picture("PNG", mode="L"),
    _picture("PNG", mode="I;16"), _picture("JPEG", mode="CMYK"),
], ids=["jpeg", "png-rgba", "png-palette", "webp", "png-grey", "png-16", "jpeg-cmyk"])
def test_pictures_of_every_usual_kind_are_drawn_anew_as_jpeg(tmp_path, body):
    kept = develop(BytesIO(body), tmp_path / "photographs")
    for size in ("whole", "small", "thumb"):
        with Image.open(tmp_path / "photographs" / f"{kept.mark}-{size}.jpg") as image:
            assert (image.format, image.mode) == ("JPEG", "RGB")
            assert max(image.size) <= 2000


def test_a_list_gets_a_thumbnail_twice_as_large_as_it_is_shown_and_an_old_picture_its_small_file(client, studio):
    studio.fill(ended=True)
    assert _send(client, "/pieces/1/photographs", _picture()).status_code == 303
    [address] = re.findall(r'src="(/photographs/\w+-thumb.jpg)"', client.get("/pieces").text)
    assert _longer_side(client, address) == 2 * 96  # shown 96 px wide, on screens of two points a pixel
    next((studio.folder / "photographs").glob("*-thumb.jpg")).unlink()
    assert _longer_side(client, address) == 480


def _longer_side(client, address):
    with client.get(address, buffered=True) as answer, Image.open(BytesIO(answer.data)) as image:
        return max(image.size)


def test_place_and_camera_are_gone_and_the_picture_stands_upright(tmp_path):
    exif = Image.Exif()
    exif[0x0112] = 6  # turned a quarter
    exif[0x010F] = "Some camera"
    exif[0x8825] = {1: "N", 2: (48.0, 12.0, 0.0)}
    kept = develop(BytesIO(_picture(exif=exif)), tmp_path / "photographs")
    assert (kept.width, kept.height) == (400, 600)
    whole = (tmp_path / "photographs" / f"{kept.mark}-whole.jpg").read_bytes()
    assert b"Some camera" not in whole
    assert not dict(Image.open(BytesIO(whole)).getexif())


@pytest.mark.parametrize("body", [
    b"", b"GIF89a" + b"\0" * 50, b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"<script>alert(1)</script>",
    _picture()[:-200], b"\xff\xd8\xff" + b"x" * 500, _bomb(), _bomb(8000, 8000),
], ids=["empty", "gif", "svg", "script", "cut off", "only a head", "bomb", "large"])
def test_what_is_no_picture_and_what_unfolds_too_far_is_refused(tmp_path, body):
    with pytest.raises(NotAPicture, match="Send a"):
        develop(BytesIO(body), tmp_path / "photographs")
    assert not list(tmp_path.rglob("*.jpg"))


def _send(client, path, body=None, **fields):
    data = {"moment": "before", "caption": "", **fields}
    if body is not None:
        data["photograph"] = (BytesIO(body), "../../x.php")
    return client.post(path, headers=SAME, data=data, content_type="multipart/form-data")


@pytest.mark.parametrize("home", ["/pieces/1", "/firings/1"])
def test_a_photograph_is_kept_shown_taken_out_and_brought_back(client, studio, home):
    studio.fill(until_s=3000.0, ended=True)
    assert _send(client, f"{home}/photographs", _picture(), caption="<i>light</i> box").status_code == 303
    page = client.get(home).text
    assert "&lt;i&gt;light&lt;/i&gt; box" in page
    address = page.split('<img src="')[1].split('"')[0]
    shown = client.get(address, buffered=True)
    assert shown.mimetype == "image/jpeg"
    assert "immutable" in shown.headers["Cache-Control"]
    gone = client.post("/photographs/1/remove", headers=SAME)
    assert "<img" not in client.get(home).text
    assert "Bring it back" in client.get(gone.headers["Location"]).text
    client.post("/photographs/1/restore", headers=SAME)
    assert "<img" in client.get(home).text


def test_a_refused_picture_says_why_and_keeps_the_page(client, studio):
    studio.fill(until_s=3000.0, ended=True)
    for body, said in ((None, "Choose a picture first"), (b"MZ no picture", "no picture that can be read"),
                       (_bomb(), "million points")):
        answer = _send(client, "/pieces/1/photographs", body, caption="by the window, north light")
        assert answer.status_code == 400
        assert said in answer.text
        assert "River bowl" in answer.text
        assert 'value="by the window, north light"' in answer.text
        assert '<input type="radio" name="moment" value="before" checked>' in answer.text
    assert not list((studio.folder / "photographs").iterdir())


def test_a_picture_of_too_many_megabytes_is_refused_beside_its_caption(real_server, studio):
    studio.fill(until_s=3000.0, ended=True)
    status, text = real_server.post_photograph("/firings/1/photographs", b"x" * (13 * 1024 * 1024), moment="before",
                                               caption="by the window, north light")
    assert (status, "13.0 MB; at most 12 MB" in text) == (400, True)
    assert 'value="by the window, north light"' in text


def test_only_a_photograph_may_be_long(client, studio):
    studio.fill(until_s=3000.0, ended=True)
    long = client.post("/pieces/1/photographs", headers=SAME, data=b"x" * (25 * 1024 * 1024),
                       content_type="multipart/form-data; boundary=x")
    assert long.status_code == 413
    assert client.post("/firings/1/note", headers=SAME, data={"note": "x" * 100_000}).status_code == 413


@pytest.mark.parametrize("address", [
    "/photographs/..%2f..%2flehrling-whole.jpg", "/photographs/" + "a" * 64 + "-whole.jpg",
    "/photographs/" + "A" * 64 + "-whole.jpg", "/photographs/" + "a" * 64 + "-../page-key.jpg",
])
def test_an_address_that_names_no_picture_gets_none(client, studio, address):
    studio.fill(until_s=3000.0, ended=True)
    assert client.get(address).status_code == 404
