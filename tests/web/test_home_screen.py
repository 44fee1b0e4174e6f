"""The page on a home screen: a manifest without a passcode that says nothing of this house, and icons of our own."""

from __future__ import annotations

from io import BytesIO

import pytest
from PIL import Image

from web.drawing.colours import INKS
from web.home_screen import SIZES, drawn


def test_the_manifest_names_icons_that_are_there_and_nothing_of_this_house(studio, cheap_hash):
    from web.security import passcode

    passcode.keep(studio.folder / "passcode", "warm sand and slow rivers")
    client = studio.app(open_house=False, kiln="Secret kiln").test_client()
    answer = client.get("/manifest.webmanifest")
    assert answer.mimetype == "application/manifest+json"
    assert "Secret" not in answer.text
    said = answer.get_json(force=True)
    assert (said["start_url"], said["display"]) == ("/", "standalone")
    for icon in said["icons"]:
        picture = client.get(icon["src"])
        assert picture.status_code == 200
        assert "x".join(map(str, Image.open(BytesIO(picture.data)).size)) == icon["sizes"]
    assert client.get("/icon-7.png").status_code == 404
    assert "manifest-src 'self'" in answer.headers["Content-Security-Policy"]


@pytest.mark.parametrize("size", SIZES)
def test_an_icon_shows_ink_on_paper_within_what_a_phone_leaves(size):
    image = Image.open(BytesIO(drawn(size))).convert("L")
    paper = image.getpixel((1, 1))
    assert paper > 230
    dark = image.point(lambda value: 255 * (value < 80)).getbbox()
    assert dark is not None
    # A round cut leaves the circle of the inner 80 % [common practice, from memory]; the curve lies in that square.
    assert min(dark[0], dark[1], size - dark[2], size - dark[3]) > size * 0.1
    assert len(drawn(size)) < 20_000
    assert INKS["day"]["ground"]
