"""What holds for every page: nothing inline, nothing from outside, nothing heavy, no slip shown."""

from __future__ import annotations

import json
import re

from daemon.store import firings

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


PATHS = ("/", "/firings", "/firings/1", "/firings/1/name", "/start", "/pieces", "/pieces/new", "/plans", "/plans/1",
         "/plans/new", "/nothing", "/firings/1/again", "/firings/1/card", "/firings/1/table", "/kiln", "/reading",
         "/compare", "/pieces/1", "/pieces/1/change", "/firings/1/pieces/1/outcome", "/reach", "/find",
         "/find?q=river", "/questions", "/firings/other-logger")


def test_no_page_has_inline_script_or_style_or_fetches_from_outside(client, studio):
    studio.say(studio.fill(alert=True), alert=True)
    for path in PATHS:
        page = client.get(path).text
        assert not re.search(r"<style|<script(?![^>]*\bsrc=)|\sstyle=|\son[a-z]+=|javascript:", page), path
        for address in re.findall(r'(?:src|href|action|data-\w+)="([^"#]*)"', page):
            assert not re.match(r"(?:[a-z]+:)?//", address), (path, address)


def test_no_page_is_heavier_than_150_kb_besides_the_plotting_library(client, studio):
    studio.say(studio.fill(until_s=40_000.0, alert=True), 40_000.0, alert=True)
    files = sum(len(client.get(f"/static/{name}", buffered=True).data)
                for name in ("lehrling.css", "plot.css", "now.js", "sound.js", "trace.js", "record.js", "mark.svg"))
    for path in PATHS:
        assert len(client.get(path).data) + files < 150_000, path


def test_our_own_files_are_kept_by_browsers_and_change_address_with_their_content(client, studio):
    studio.say(studio.fill())
    for address in re.findall(r'"(/static/[^"]+)"', client.get("/").text):
        answer = client.get(address.replace("&amp;", "&"), buffered=True)
        assert "immutable" in answer.headers["Cache-Control"], address
    assert "immutable" not in client.get("/static/now.js", buffered=True).headers["Cache-Control"]


def test_a_slip_of_our_own_is_a_calm_page_and_a_line_in_the_log(studio, monkeypatch, caplog):
    import web.firings.listing

    studio.say(studio.fill())
    client = studio.app().test_client()
    monkeypatch.setattr(web.firings.listing.firing_list, "matching", lambda *_a, **_k: 1 / 0)
    answer = client.get("/firings")
    assert answer.status_code == 500
    assert "The page slipped" in answer.text
    assert "ZeroDivisionError" not in answer.text
    assert "a slip in the page at /firings" in caplog.text


def test_a_locked_store_is_said_and_nothing_is_half_done(studio, monkeypatch):
    import sqlite3

    import web.request.context

    studio.say(studio.fill())
    client = studio.app().test_client()
    usual = web.request.context.open_database
    monkeypatch.setattr(web.request.context, "open_database", lambda path: usual(path, busy_s=0.05))
    holder = sqlite3.connect(studio.database)
    holder.execute("BEGIN EXCLUSIVE")
    try:
        answer = client.post("/firings/1/end", headers=SAME)
    finally:
        holder.rollback()
        holder.close()
    assert answer.status_code == 503
    assert "Nothing was changed" in answer.text
    assert studio.asked() == []


def test_the_plotted_figures_are_the_stored_ones(client, studio):
    number = studio.fill(until_s=9000.0)
    body = client.get(f"/firings/{number}/trace.json").json
    measured = next(t for t in body["figure"]["data"] if t["name"] == "measured")
    stored = dict(studio.store(lambda db: [(s.t_s, s.temp_c) for s in __import__(
        "daemon.store.readings", fromlist=["samples"]).samples(db, number)]))
    pairs = [(x, y) for x, y in zip(measured["x"], measured["y"], strict=True) if y is not None]
    assert len(pairs) > 500
    for x, y in pairs:
        assert abs(stored[round(x / 5) * 5] - y) < 0.6
    assert json.dumps(body).find("NaN") < 0


def test_firings_of_one_kiln_do_not_need_the_state_file(client, studio):
    studio.fill(title="Quiet one")
    assert "Quiet one" in client.get("/").text
    assert studio.store(lambda db: firings.current(db, 1)).title == "Quiet one"
