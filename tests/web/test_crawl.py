"""Every page by its links, every form by its fields: no slip, no dead end, and nothing typed is lost."""

from __future__ import annotations

import re
from html import escape, unescape
from html.parser import HTMLParser
from io import BytesIO
from urllib.parse import urljoin, urlsplit

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from daemon.settings.config import Config, Energy
from daemon.store import bin, firings, outcomes, plans
from daemon.store.chain import source_file
from daemon.store.database import transaction
from daemon.store.safety.copies import make_copy
from daemon.store.wear import part_changes
from web.pieces import reencoding_process

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
UNLINKED = {"/passcode", "/enter", "/now.json", "/rehearsal/", "/rehearsal/<path:rest>", "/icon-<int:size>.png",
            "/firings/<int:firing_id>/strip.json", "/metrics", "/calendar/<token>.ics",
             "/collect/overview.json", "/collect/chain/<int:firing_id>.json", "/collect/beside.json",
             "/collect/studio.json", "/plans/foreseen", "/firings/other-logger/<token>"}
"""Reached otherwise: by the page's own script, by a monitoring program, a calendar or a studio's server, where a
passcode is asked for, by a button of a form that is filled in, or by sending a file."""


LINKS = ("href", "src", "data-trace", "data-png", "data-plotly")


class Page(HTMLParser):
    """The links and forms of one page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: set[str] = set()
        self.forms: list[tuple[str, str, dict[str, str]]] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        found = {name: value or "" for name, value in attrs}
        self.links |= {found[name] for name in LINKS if name in found}
        if tag == "form":
            self.forms.append((found.get("method", "get"), found["action"], {}))
        elif tag in ("input", "textarea", "select", "button") and self.forms and "name" in found:
            self.forms[-1][2][found["name"]] = tag if tag != "input" else found.get("type", "text")


def _with_source(db, number, now):
    with transaction(db):
        source_file.put(db, number, "log.csv", b"s,C", now)


@pytest.fixture
def whole(studio, monkeypatch):
    """A studio in which every page has something to show."""
    monkeypatch.setattr(reencoding_process, "LONGEST_S", 600.0)  # on a crowded machine a process starts in a minute
    number = studio.fill(until_s=40_000.0, ended=True, alert=True, title="Tack-fused coasters")
    studio.store(lambda db: plans.add_plan(db, plans.plan(db, 1).toml.replace("rate = 55", "rate = 40"),
                                           studio.clock.wall))
    studio.store(lambda db: outcomes.add_outcome(db, firing_id=number, piece_id=1, words=["crack"], place="rim",
                                                 note="", now_utc=studio.clock.wall))
    now = studio.clock.wall
    studio.store(lambda db: part_changes.add_change(db, 1, "elements", now.date(), "", now))
    test = studio.fill(until_s=600.0, ended=True, title="Test of the probe")
    studio.store(lambda db: bin.put_into_bin(db, test, studio.clock.wall))
    studio.store(lambda db: _with_source(db, number, now))
    running = studio.fill(until_s=24_000.0, alert=True, title="Bowl blank")
    studio.say(running, 24_000.0, alert=True)
    make_copy(studio.database, now)
    client = studio.app(config=Config(energy=Energy(3.8, 0.3, "€"))).test_client()
    picture = BytesIO()
    Image.new("RGB", (40, 30), "teal").save(picture, "JPEG")
    for home in ("/pieces/1", "/firings/1"):
        sent = client.post(f"{home}/photographs", headers=SAME, content_type="multipart/form-data",
                           data={"photograph": (BytesIO(picture.getvalue()), "a.jpg"), "moment": "after"})
        assert sent.status_code == 303, sent.text
    return client


def _crawl(client):
    """Return every page reached from the front: address to what it answered."""
    seen, waiting = {}, ["/"]
    while waiting:
        address = waiting.pop()
        if address in seen or len(seen) > 400:
            continue
        answer = client.get(address, buffered=True)
        seen[address] = answer
        if answer.mimetype != "text/html":
            continue
        for link in (one for one in Page(answer.text).links if not one.startswith("data:")):
            to = urlsplit(urljoin(f"http://localhost{address}", unescape(link)))
            if to.scheme == "data":  # a photograph within the copy that is given away
                continue
            assert to.netloc == "localhost", (address, link)
            path = to.path + (f"?{to.query}" if to.query else "")
            if path not in seen:
                waiting.append(path)
    return seen


def test_every_link_leads_somewhere_and_every_page_is_linked(whole):
    seen = _crawl(whole)
    for address, answer in seen.items():
        assert answer.status_code == 200, address
        if not answer.mimetype.startswith(("image", "text/javascript", "application/zip")):
            assert "Traceback" not in answer.text, address
    reached = {urlsplit(address).path for address in seen}
    for rule in whole.application.url_map.iter_rules():
        if "GET" not in rule.methods or rule.rule in UNLINKED:
            continue
        shape = re.sub(r"<[^>]+>", "[^/]+", rule.rule)
        assert any(re.fullmatch(shape, path) for path in reached), rule.rule


def test_every_form_of_every_page_is_known_to_the_tests(whole):
    """A form that nothing here fills in would be one nobody has tried to break."""
    from pathlib import Path

    fuzzed = Path(__file__).with_name("test_fuzz.py").read_text(encoding="utf-8")
    for address, answer in _crawl(whole).items():
        if answer.mimetype != "text/html":
            continue
        for method, action, fields in Page(answer.text).forms:
            path = re.sub(r"\d+", "1", urlsplit(unescape(action)).path)
            if method == "post" and set(fields.values()) - {"hidden", "button"}:
                assert f'"{path}"' in fuzzed or path == "/pieces/1/photographs", (address, path)


TYPED = st.text(st.characters(exclude_categories=("C", "Z")), min_size=1, max_size=30)
FORMS = {
    "/pieces/new": {"name": "", "thickness": "x", "layers": "", "separator": "", "note": ""},
    "/pieces/1/change": {"name": "", "thickness": "x", "layers": "", "separator": "", "note": ""},
    "/plans/new": {"title": "", "steps": "not a plan", "unit": "C", "first": "rate"},
    "/start": {"title": "", "thickness": "x"},
    "/firings/1/name": {"title": "", "thickness": "x"},
    "/firings/1/pieces/1/outcome": {"word": "clear", "place": "here", "note": ""},
    "/pieces/1/drying": {"hours": "soon"},
}


@pytest.mark.parametrize("path", FORMS)
def test_what_was_typed_is_shown_again_where_something_is_wrong(whole, studio, form_of_start, path):
    if path == "/start":  # offered while nothing runs
        studio.store(lambda db: firings.end_firing(db, 3, 24_000.0, studio.clock.wall, "maker"))
    texts = [name for name in FORMS[path] if name in ("name", "title", "layers", "separator", "note", "place")]

    @settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
    @given(st.lists(TYPED, min_size=len(texts), max_size=len(texts)))
    def run(typed):
        filled = FORMS[path] | dict(zip(texts, typed, strict=True))
        if path == "/start":
            filled = form_of_start(whole, **filled)
        answer = whole.post(path, headers=SAME, data=filled)
        assert answer.status_code == 400
        filled.pop("token", None)
        for value in filled.values():
            assert escape(value) in answer.text.replace("&#39;", "&#x27;").replace("&#34;", "&quot;"), value

    run()


def test_a_script_in_any_text_is_text_on_every_page(studio):
    evil = "<script>alert(1)</script>"
    number = studio.fill(until_s=9000.0, ended=True, title=evil)
    client = studio.app().test_client()
    for path, data in {
        "/pieces/1/change": {"name": evil, "glass": "90", "thickness": "6", "layers": evil, "separator": evil,
                             "note": evil},
        f"/firings/{number}/note": {"note": evil},
        f"/firings/{number}/pieces/1/outcome": {"word": "crack", "place": evil, "note": evil},
        "/plans/new": {"title": evil, "unit": "C", "steps": "150 / 600 / 10"},
    }.items():
        assert client.post(path, headers=SAME, data=data).status_code == 303, path
    studio.say(None)
    for address, answer in _crawl(client).items():
        if answer.mimetype in ("text/html", "image/svg+xml"):
            assert evil not in answer.text, address
