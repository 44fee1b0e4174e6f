"""The card carries a photograph: the latest after the firing, else another of it, else one of its pieces."""

from __future__ import annotations

from io import BytesIO

from PIL import Image

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


def _send(client, home, colour, moment, caption):
    body = BytesIO()
    Image.new("RGB", (60, 40), colour).save(body, "JPEG")
    client.post(f"{home}/photographs", headers=SAME, content_type="multipart/form-data",
                data={"photograph": (BytesIO(body.getvalue()), "a.jpg"), "moment": moment, "caption": caption})


def test_the_card_shows_the_picture_that_tells_most(client, studio):
    number = studio.fill(ended=True)
    card = f"/firings/{number}/card"
    assert "<img" not in client.get(card).text
    shown = []
    for home, colour, moment, caption in (
            ("/pieces/1", "navy", "before", "the piece"), (f"/firings/{number}", "teal", "after", "from above"),
            (f"/firings/{number}", "olive", "after", "from the side"),
            (f"/firings/{number}", "gray", "before", "raw")):
        _send(client, home, colour, moment, caption)
        text = client.get(card).text
        assert text.count("<img") == 1
        shown.append(text.split("<figcaption>")[1].split("<")[0])
    assert shown == ["the piece", "from above", "from the side", "from the side"]
