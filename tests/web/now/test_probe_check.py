"""In the morning Now asks to look after the probe, where the latest firing gave a reason to."""

from __future__ import annotations

import re
from html import unescape

import pytest

from daemon.firing import example_firing
from daemon.firing.events import Alert, AlertChanged, Rank
from daemon.firing.kind import Finding
from daemon.firing.watches import cooling_too_fast, sensor_fault, sudden_drop
from daemon.store import alerts

END_S = 41_000.0


@pytest.fixture
def morning(studio):
    """Return how Now reads after a firing in which alerts of these kinds were, or while it still cools."""
    def read(*kinds, ended=True, **said):
        number = studio.fill(until_s=END_S, ended=ended)
        db = studio.open_store()
        for no, kind in enumerate(kinds, start=1):
            text = kind.words(Finding(kind, Rank.LOOK, 17_000.0, kind.examples[0].facts), example_firing.speaker())
            alert = Alert(no, kind.name, Rank.LOOK, 17_000.0, 17_060.0, text, cleared_s=18_000.0)
            alerts.record(db, number, AlertChanged(17_060.0, "raised", alert), studio.clock.wall)
        db.close()
        studio.say(*((None,) if ended else (number, END_S)), **said)
        page = studio.app().test_client().get("/").text
        return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page))).replace("\u00a0", " ")
    return read


def test_after_a_drop_that_may_have_been_the_probe_it_is_asked_to_check_it(morning):
    said = morning(sudden_drop.KIND, cooling_too_fast.KIND)
    assert "Before the next firing, check the probe. At " in said
    assert "Lehrling said: “Lid open or sensor fell out? 700 °C, was 800 °C.”" in said
    assert "Was it the lid? Then the probe is well. With the kiln cold and unplugged, look" in said


def test_after_a_sensor_that_failed_nobody_asks_of_a_lid(morning):
    said = morning(sensor_fault.KIND)
    assert "“No temperature for 30 s: Lehrling is blind. The last was 798 °C.” With the kiln cold" in said
    assert "Was it the lid?" not in said


def test_other_nights_say_nothing_of_the_probe(morning):
    assert "check the probe" not in morning(cooling_too_fast.KIND)


@pytest.mark.parametrize(("finished", "asked"), [(True, True), (False, False)])
def test_while_a_firing_runs_it_waits_until_the_plan_is_done(morning, finished, asked):
    said = morning(sudden_drop.KIND, ended=False, finished=finished, alerts=[])
    assert ("check the probe" in said) == asked
