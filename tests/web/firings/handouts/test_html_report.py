"""The report as a file: all that was judged is in it, nothing comes from outside, and no text becomes markup."""

from __future__ import annotations

import re
from dataclasses import replace

from daemon.firing.events import Alert, Part, Rank, Sample, Text
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.report import Report
from daemon.firing.setup import Setup
from daemon.firing.verdict.answer import Result, TopAnswer
from daemon.firing.verdict.answer_values import Temperature
from daemon.glass.materials import FAMILIES
from web.firings.handouts.html_report import page

PLAN = Plan("slump", "C", (Step(120.0, 640.0, 600.0, "top"), Step(None, 60.0)))
ALERT = Alert(1, "not-cooling", Rank.WAKE, 7000.0, 7200.0, Text("It climbs.", "It may sag.", "Look at the kiln."),
              cleared_s=7800.0, under="restarted")
SAMPLES = [Sample(60.0 * n, 20.0 + 5.0 * n) for n in range(120)]


def report(**others: object) -> Report:
    parts = (Part(0, 1, "ramp", 0.0, 6000.0, 118.0), Part(1, 1, "hold", 6000.0, 6600.0, None, 641.0))
    found = Report(Setup(PLAN, FAMILIES["90"]), planned_parts(PLAN), parts, (ALERT,),
                   (TopAnswer(Result.YES, Temperature(641.0), Temperature(640.0)),), (), 641.0, 6300.0, 7200.0, False,
                   120, 0.0, None, None, caveats=("Its clock ran backwards.",))
    return replace(found, **others)


def words(found: Report) -> str:
    """Return what a reader reads, tags and drawing left out."""
    without = re.sub(r"<(svg|style)\b.*?</\1>", "", page(found, SAMPLES), flags=re.S)
    return " ".join(re.sub(r"<[^>]*>", " ", without).split())


def test_verdict_alerts_parts_caveats_and_caution_are_all_in_it() -> None:
    told = words(report())
    for part in ("slump", "2:00 h, 120 readings, peak 641 °C at 1:45, plan not finished.",
                 "Bear in mind: Its clock ran backwards.", "Did it reach its top, and no more? Yes.",
                 "get up: not cooling, 2:00, over 2:10, follows from kiln heats again",
                 "It climbs. It may sag. Look at the kiln.",
                 "step 1, ramp 0:00 1:40 120 °C/h to 640 °C 118 °C/h", "step 1, hold 1:40 1:50 640 °C, 10 min "
                 "10 min at 641 °C", "This is a helper, not a safety device."):
        assert part in told


def test_without_alerts_plan_or_parts_it_says_so_and_shows_no_empty_table() -> None:
    told = words(report(setup=Setup(None, FAMILIES["90"]), planned=(), parts=(), alerts=(), verdict=()))
    assert "A firing without a plan" in told
    assert "No alert." in told
    assert "Part by part" not in told


def test_no_text_of_a_plan_or_an_alert_becomes_markup() -> None:
    evil = "<script>alert(1)</script>&"
    found = report(setup=Setup(replace(PLAN, title=evil), FAMILIES["90"]), caveats=(evil,),
                   alerts=(replace(ALERT, text=Text(evil, evil, evil)),))
    made = page(found, SAMPLES)
    assert "<script" not in made
    assert made.count("&lt;script&gt;alert(1)&lt;/script&gt;&amp;") == 6  # title twice, caveat, three of the alert


def test_it_is_whole_by_itself() -> None:
    made = page(report(), SAMPLES)
    assert made.startswith("<!doctype html>")
    assert made.endswith("</html>\n")
    assert "<svg" in made
    assert not re.search(r"(?:src|href)=|url\((?!#)|@import", made)
