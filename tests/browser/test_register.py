"""What holds for every page, on a phone, a small phone and a desk, by day and by night, in °C and °F.

The pages come from the app's own list of addresses, so a new one is measured by itself. What is measured stands in
``register.js``: what is touched is 44 px, contrast, sizes of type, apostrophes, and controls look like what they are.
"""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from daemon.store import bin, notes, outcomes, plans
from daemon.store.wear import part_changes

MEASURE = (Path(__file__).parent / "register.js").read_text(encoding="utf-8").split("\n", 2)[2]
PHONE, SMALL, DESK = ({"width": 390, "height": 844}, {"width": 320, "height": 640}, {"width": 1280, "height": 900})
SAME = {"Origin": "http://localhost"}


def _night(studio: Any) -> None:
    """Fill a studio in which every page has something to show, and an alarm stands: in firing 3, which runs."""
    first = studio.fill(until_s=41_000.0, ended=True, alert=True, title="Tack-fused coasters")
    test = studio.fill(until_s=900.0, ended=True, title="Test of the probe")
    running = studio.fill(until_s=24_000.0, alert=True)
    wall = studio.clock.wall

    def fill(db: Any) -> None:
        bin.put_into_bin(db, test, wall)
        plans.add_plan(db, plans.plan(db, 1).toml.replace("rate = 55", "rate = 40"), wall)
        outcomes.add_outcome(db, firing_id=first, piece_id=1, words=["crack"], place="rim", note="", now_utc=wall)
        notes.add_note(db, running, "Vent open by a finger.", wall)
        part_changes.add_change(db, 1, "elements", wall.date(), "all four", wall)

    studio.store(fill)
    studio.say(running, 24_000.0, alert=True)
    for home in (f"/firings/{first}", f"/firings/{running}"):
        _photograph(studio, f"{home}/photographs")


def _idle(studio: Any) -> None:
    """Fill a studio in which nothing runs; the form that starts a firing is offered."""
    studio.fill(until_s=41_000.0, ended=True)
    studio.say(None)


def _empty(studio: Any) -> None:
    studio.open_store().close()
    studio.say(None)


def _nothing(studio: Any) -> None:
    del studio


def _photograph(studio: Any, path: str) -> None:
    from PIL import Image

    body = BytesIO()
    Image.linear_gradient("L").convert("RGB").resize((800, 600)).save(body, "JPEG")
    kept = studio.app().test_client().post(
        path, headers=SAME, content_type="multipart/form-data",
        data={"photograph": (BytesIO(body.getvalue()), "a.jpg"), "caption": "North light", "moment": "after"})
    assert kept.status_code == 303


PARTS = {"firing_id": "1", "piece_id": "1", "plan_id": "2", "number": "1"}
"""What stands in place of a part of an address; an address with another part leads to a file and not to a page."""
FOR_PROGRAMS = "/metrics"
"""Read by programs, no page."""
FILES = {"size", "mark", "filename", "rest", "name", "token"}
OF_THE_TEST = "/firings/<int:firing_id>/again"
"""Judging again takes seconds for a long firing, so the short one is judged: firing 2."""
OTHERS = ("/firings/2", "/firings/3", "/compare?firing=1&firing=3", "/plans?retired=yes", "/plans/new?like=1",
          "/documents/alerts.md", "/documents/install.md", "/firings?q=nothing+like+it", "/firings?glass=90&since=x",
          "/not-here", "/pieces?q=nothing+like+it")
"""Further faces of pages: deleted, running, with a question in the address, and with something wrong."""
FRONT = ("/", "/start", "/firings", "/pieces", "/plans", "/kiln", "/compare", "/reach", "/setup")
NOT_STARTED = ("/", "/setup")


def every_page(app: Any) -> list[str]:
    """Return the address of every page of the app, as the studio of :func:`_night` fills it."""
    found = []
    for rule in app.url_map.iter_rules():
        parts = re.findall(r"<(?:\w+:)?(\w+)>", rule.rule)
        if "GET" not in (rule.methods or ()) or FILES & set(parts) or rule.rule == FOR_PROGRAMS:
            continue
        path = re.sub(r"<(?:\w+:)?(\w+)>", lambda part: PARTS[part[1]], rule.rule)  # KeyError: say what it is
        if rule.rule == OF_THE_TEST:
            path = "/firings/2/again"
        if "." not in path and not path.startswith("/rehearsal"):
            found.append(path)
    return found


@pytest.mark.parametrize(("fill", "unit", "paths"), [
    (_night, "F", ()), (_idle, "C", FRONT), (_empty, "F", FRONT), (_nothing, "C", NOT_STARTED),
], ids=["night", "idle", "empty", "nothing"])
def test_every_page_keeps_to_the_register(studio, serve, open_page, fill, unit, paths):
    fill(studio)
    address = serve(studio)
    page = open_page(address + "/reading", PHONE, settle=False)
    page.route("**/plotly-*", lambda asked: asked.abort())  # what it draws is looked at in test_plot.py
    page.context.add_cookies([{"name": "lehrling-reads", "value": f"unit={unit}&hours=12&light=", "url": address}])
    faults: dict[str, list[str]] = {}
    for path in paths or (*every_page(studio.app()), *OTHERS):
        page.goto(address + path)
        for size, theme in ((PHONE, "light"), (SMALL, "dark"), (DESK, "dark")):
            page.set_viewport_size(size)
            page.emulate_media(color_scheme=theme)
            for line in page.evaluate(MEASURE, [size is not DESK, size["width"]]):
                faults.setdefault(line, []).append(f"{path} {size['width']} {theme}")
        page.set_viewport_size(PHONE)
    if faults:
        pytest.fail("\n".join(f"{line}   {len(where)}x {where[0]}" for line, where in sorted(faults.items())))


@pytest.mark.parametrize(("path", "left", "right"), [
    ("/plans/1", "[aria-label='The plan drawn']", "[aria-labelledby=as-written]"),
    ("/plans/new?like=1", "#steps", "[data-read]"), ("/pieces/1", ".chain", "#photographs"),
    ("/firings/1", "#in-the-kiln", ".photographs"), ("/", ".about h2", "#noted-head"),
])
def test_a_desk_has_beside_each_other_what_belongs_together_and_a_phone_below_each_other(desk, path, left, right):
    page, address = desk
    page.set_viewport_size(DESK)
    page.goto(address + path)
    one, other = page.locator(left).first.bounding_box(), page.locator(right).first.bounding_box()
    assert other["x"] >= one["x"] + one["width"] or other["x"] > DESK["width"] / 2
    assert other["y"] < one["y"] + max(one["height"], 60.0)
    page.set_viewport_size(PHONE)
    one, other = page.locator(left).first.bounding_box(), page.locator(right).first.bounding_box()
    assert other["y"] >= one["y"] + one["height"]


@pytest.fixture(scope="module")
def desk(studio_on, serve_on, chromium):
    _night(studio_on)
    studio_on.say(3, 24_000.0)
    context = chromium.new_context(viewport=DESK)
    page = context.new_page()
    page.route("**/plotly-*", lambda asked: asked.abort())
    yield page, serve_on(studio_on)
    context.close()
