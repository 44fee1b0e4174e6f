"""The copy is one file: all of the firing in it, nothing from outside, no script, nothing else of the owner's."""

from __future__ import annotations

import re
from io import BytesIO

import pytest
from PIL import Image

from daemon.firing.events import Said, Saying
from daemon.store import found_parts, notes, outcomes, photographs, pieces
from tests.web.conftest import Studio

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
EVIL = "<script>alert(1)</script>"


@pytest.fixture(scope="module")
def kept(tmp_path_factory, empty_database):
    """Return a studio and the copy of its firing, to be looked at only: two photographs are drawn for it."""
    studio = Studio(tmp_path_factory.mktemp("studio"), empty_database)
    return studio, copy_of_a_firing(studio, studio.app().test_client())


@pytest.fixture
def copy(kept):
    return kept[1]


def copy_of_a_firing(studio, client):
    """Fill a studio with a firing of which there is much to say; return the answer with its copy."""
    number = studio.fill(ended=True, alert=True, title=f"Bowl {EVIL}")

    def say_more(db):
        notes.add_note(db, number, f"Vent open a finger {EVIL}", studio.clock.wall)
        outcomes.add_outcome(db, firing_id=number, piece_id=1, words=["clear"], place="", note="Even all over.",
                             now_utc=studio.clock.wall)
        found_parts.add_said(db, number, Said(900.0, Saying.VENTED))
        pieces.add_piece(db, name="Somebody else’s present", glass="90", thickness_mm=6.0, note="Secret",
                         now_utc=studio.clock.wall)
    studio.store(say_more)
    body = BytesIO()
    Image.effect_noise((900, 700), 90).convert("RGB").save(body, "JPEG")
    for moment, caption in (("after", "north light"), ("before", "")):
        client.post(f"/firings/{number}/photographs", headers=SAME, content_type="multipart/form-data",
                    data={"photograph": (BytesIO(body.getvalue()), "a.jpg"), "moment": moment, "caption": caption})
    return client.get(f"/firings/{number}/copy.html")


def test_it_comes_as_a_file_with_all_of_the_firing(copy):
    assert 'attachment; filename="2026-03-03-bowl-script-alert-1-script.html"' in copy.headers["Content-Disposition"]
    text = copy.text.replace("\u00a0", " ")
    for part in ("<svg", "River bowl", "3 mm clear under 3 mm amber", "Came out: <b>clear</b>", "Even all over.",
                 "Vent open a finger", "Full fuse, two layers", "asked", "After the firing: north light",
                 "Before the firing", "too fast", ">Vented.<", "not a safety device", "data sheet"):
        assert part in text, part
    assert "You vented" not in text


def test_nothing_comes_from_outside_and_nothing_runs(copy):
    text = copy.text
    assert not re.search(r"<script|<link|<iframe|<object|<form|\son\w+=|@import|url\((?!#)", text.replace(EVIL, ""))
    assert EVIL not in text
    for address in re.findall(r'\b(?:src|href|action|data|poster|xlink:href)="([^"]*)"', text):
        assert address.startswith(("data:image/jpeg;base64,", "#")), address[:60]
    assert set(re.findall(r"https?://[^\"' <]*", text)) <= {"http://www.w3.org/2000/svg"}


def test_nothing_else_of_the_owner_is_in_it(kept):
    studio, copy = kept
    for private in ("Somebody else", "Secret", "small kiln", str(studio.folder), "localhost", "192.168", "passcode"):
        assert private not in copy.text, private


def test_each_photograph_is_a_whole_jpeg_within_the_file(copy):
    from base64 import b64decode

    found = re.findall(r'src="data:image/jpeg;base64,([^"]*)"', copy.text)
    assert len(found) == 2
    for one in found:
        with Image.open(BytesIO(b64decode(one))) as image:
            assert image.size == (900, 700)
            assert not dict(image.getexif())


def test_many_photographs_are_put_in_small_and_one_without_its_file_is_left_out(client, studio, monkeypatch):
    from web.firings.handouts import firing_copy

    whole = copy_of_a_firing(studio, client).text
    monkeypatch.setattr(firing_copy, "MOST_WHOLE_BYTES", 0)
    mark = studio.store(lambda db: photographs.photographs(db, firing_id=1))[0].mark
    text = client.get("/firings/1/copy.html").text
    assert text.count("data:image/jpeg") == 2
    assert len(text) < len(whole)
    for size in ("whole", "small"):
        (studio.folder / "photographs" / f"{mark}-{size}.jpg").unlink()
    assert client.get("/firings/1/copy.html").text.count("data:image/jpeg") == 0


def test_a_firing_that_runs_says_that_it_is_not_finished(client, studio):
    number = studio.fill()
    assert "so far, not finished" in client.get(f"/firings/{number}/copy.html").text
