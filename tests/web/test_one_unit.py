"""One unit a page: whoever reads in one finds no figure in the other, but in lines to key in and in other words."""

from __future__ import annotations

import re

import pytest
from markupsafe import escape

from daemon.firing.events import AlertChanged, Milestone
from daemon.firing.report import report
from daemon.firing.setup import Reads
from daemon.lifecycle.judge import Judge
from daemon.lifecycle.resume import entries
from daemon.lifecycle.setup_from_store import known_setup
from daemon.store import alerts, firings, found_parts, judgements
from daemon.store.database import open_database

PATHS = ("/", "/firings", "/firings/1", "/firings/1/card", "/firings/1/copy.html", "/firings/1/table",
         "/compare?firing=1&firing=2", "/pieces/1", "/kiln")
"""Not the plans: each stands there as it is written, in its own unit, to be keyed in."""


def judged(studio, number, unit):
    """Judge a firing as the daemon does whose owner reads in ``unit``; return the report, and what is kept of it."""

    def ask(db):
        firing = firings.firing(db, number)
        assert firing is not None
        decision, taken = Judge(known_setup(db, firing, Reads(unit))), entries(db, number)
        events = [event for entry in taken for event in decision.take(entry)]
        return report(decision.state, taken, tuple(events)), decision.judgement()

    return studio.store(ask)


def keep(studio, number, found, judgement):
    """Keep verdict, alerts and milestones of a judged firing."""
    db = open_database(studio.database)
    try:
        judgements.add_judgement(db, number, judgement, "1", studio.clock.wall)
        for event in found.events:
            if isinstance(event, AlertChanged):
                alerts.record(db, number, event, studio.clock.wall)
            elif isinstance(event, Milestone):
                found_parts.add_milestone(db, number, event)
    finally:
        db.close()


@pytest.mark.parametrize(("owner", "reader"), [("C", "F"), ("F", "C")])
def test_each_page_is_in_the_readers_unit(studio, owner, reader):
    studio.unit = owner
    first, second = [studio.fill(until_s=40_000.0, ended=True) for _ in range(2)]
    found, judgement = judged(studio, first, owner)
    for number in (first, second):
        keep(studio, number, found, judgement)
    studio.say(None)
    client = studio.app().test_client()
    client.set_cookie("lehrling-reads", f"unit={reader}")
    for path in PATHS:
        page = client.get(path)
        assert page.status_code == 200, path
        shown = re.sub(r"<style.*?</style>|<option.*?</option>|<[^>]*>", " ", page.text, flags=re.DOTALL)
        assert f"°{reader}" in shown, path
        other = [shown[max(0, found.start() - 60):found.end() + 20] for found in re.finditer(f"°{owner}", shown)]
        assert not other, (path, other)
    page = client.get("/firings/1").text.replace("\u00a0", " ")
    for told in found.verdict_in_words(reader):  # each made from the measured values, so to the degree
        for part in (told.answer, told.measured, told.asked):
            assert part is None or escape(part[1:]) in page, part
