"""The studio's server shows the pages of a box word for word, but for what acts and what only the box has."""

from __future__ import annotations

import re
from datetime import date
from difflib import unified_diff

import pytest
from werkzeug.test import Client

from daemon.firing.events import Milestone, Said, Saying
from daemon.store import bin, found_parts, judgements, notes, outcomes
from daemon.store.wear import heat, part_changes
from web.security import passcode
from web.studio.page import create_studio

pytestmark = pytest.mark.slow

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
PAGES = ("/", "/firings", "/firings/1", "/firings/2", "/firings/4", "/firings/1/trace.json", "/firings/4/trace.json",
         "/firings/1/trace.json?from=100&to=4000", "/firings/1/strip.json", "/firings/1/curve.svg",
         "/firings/1/trace.csv", "/firings/1/trace.svg", "/firings/1/firing.json", "/firings/1/table",
         "/firings/1/card", "/firings/1/copy.html", "/firings/deleted", "/firings.csv",
         "/firings?plan=Full+fuse%2C+two+layers", "/firings?outcome=clear", "/firings?strayed=yes", "/compare",
         "/compare?firing=1&firing=2", "/pieces", "/pieces/1", "/plans", "/plans/1", "/questions", "/help",
         "/reading", "/documents/alerts", "/firings/99", "/now.json")


@pytest.fixture
def whole(studio):
    """A box with something on every page; firing 3 lies in the bin, firing 4 runs."""
    now = studio.clock.wall
    number = studio.fill(until_s=40_000.0, ended=True, alert=True, title="Tack-fused coasters")
    second = studio.fill(until_s=31_000.0, ended=True, title="Slumped bowl")

    def more(db):
        outcomes.add_outcome(db, firing_id=number, piece_id=1, words=["crack"], place="rim", note="", now_utc=now)
        outcomes.add_outcome(db, firing_id=number, piece_id=1, words=["clear"], place="", note="Looked again.",
                             now_utc=now)
        part_changes.add_change(db, 1, "elements", date(2026, 1, 5), "All four.", now)
        notes.add_note(db, number, "Vented at 400 °C.", now)
        found_parts.add_gap(db, number, found_parts.Gap(9000, 9600, "power"))
        found_parts.add_milestone(db, number, Milestone(20_000.0, "top", "The top is reached: 800 °C.", 2, 800.0))
        found_parts.add_said(db, number, Said(15_000.0, Saying.VENTED))
        told = {"peak_c": 801.5, "glass": {"time_above_s": {"700": 5400.0, "760": 3000.0}}}
        for one in (number, second):
            judgements.add_judgement(db, one, told, "0.1.0", now)
            heat.put_heat(db, one, heat.Heat(30_000.0, 4000.0, 780.0, None), 1)
        heat.put_meter(db, number, 21.5, now)
    studio.store(more)
    test = studio.fill(until_s=600.0, ended=True, title="Test of the probe")
    studio.store(lambda db: (bin.put_into_bin(db, test, now), db.conn.commit()))
    running = studio.fill(until_s=24_000.0, alert=True, title="Bowl blank")
    studio.say(running, 24_000.0, alert=True)
    return studio


@pytest.fixture
def page(whole, server, serve, cheap_hash):
    """The page of the studio's server, for somebody who may look; and the box's own."""
    passcode.keep(whole.folder / "passcode", "four plain words here")
    box = serve(whole)
    server.collect(box)
    passcode.keep(server.folder / "passcode", "four plain words here")
    return pages_of(server, whole, open_reading=True), Client(box.app), box


def pages_of(server, studio, **others):
    return Client(create_studio(server.settings_now, studio.settings(
        data_dir=server.folder, run_dir=server.folder, open_house=False, **others)))


def told(text):
    """Return what a page says, without what is the server's own and the beginning of its addresses."""
    text = re.sub(r"/kiln/kiln-\d/?", "/", text)
    if "<main" in text:
        text = text[text.index("<main"):text.index("</main>")]
        text = re.sub(r'<p class="entry collected">.*?</p>\n?|<section aria-label="Sound".*?</section>|'
                      r'<p><a class="go" href="[^"]*/foreseen[^"]*">[^<]*</a></p>', "", text, flags=re.DOTALL)
    return text


def test_each_page_says_what_the_boxs_own_says(page):
    server, own, box = page
    assert_same(server, own, box, PAGES)


def assert_same(server, own, box, addresses, name="kiln-1"):
    unlike = {}
    for address in addresses:
        there = own.get(address, base_url=box.address)
        here = server.get(f"/kiln/{name}{address}", base_url=box.address)
        if (here.status_code, told(here.text)) != (there.status_code, told(there.text)):
            unlike[address] = "\n".join(unified_diff(told(there.text).splitlines(), told(here.text).splitlines(),
                                                     f"box {there.status}", f"server {here.status}", n=0))
    assert not unlike, "\n\n".join(f"{address}\n{text}" for address, text in unlike.items())


def test_two_boxes_whose_firings_have_the_same_numbers_are_not_mixed_up(studio, server, serve, cheap_hash, tmp_path):
    other = type(studio)(tmp_path / "other", studio.empty, studio.clock)
    other.folder.mkdir()
    boxes = []
    for one, until_s in ((studio, 40_000.0), (other, 20_000.0)):
        passcode.keep(one.folder / "passcode", "four plain words here")
        one.fill(ended=True, alert=one is studio, until_s=until_s, title=f"To {until_s}")
        boxes.append(serve(one))
    server.collect(*boxes)
    passcode.keep(server.folder / "passcode", "four plain words here")
    client = pages_of(server, studio, open_reading=True)
    for number, box in enumerate(boxes, start=1):
        assert_same(client, Client(box.app), box, [
            "/firings", "/firings/1", "/firings/1/trace.json", "/firings/1/curve.svg", "/firings/1/firing.json",
            "/pieces/1"], f"kiln-{number}")


def test_a_box_without_a_plan_has_its_pages_too(studio, server, serve, cheap_hash):
    passcode.keep(studio.folder / "passcode", "four plain words here")
    studio.open_store().close()
    box = serve(studio)
    server.collect(box)
    passcode.keep(server.folder / "passcode", "four plain words here")
    client, own = pages_of(server, studio, open_reading=True), Client(box.app)
    assert_same(client, own, box, ["/firings", "/pieces", "/plans", "/questions", "/compare", "/firings/1"])
