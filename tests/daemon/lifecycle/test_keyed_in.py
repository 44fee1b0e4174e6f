"""Lines that were keyed in after a power cut are the plan from there: followed to the end, without another wake."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC
from itertools import pairwise
from math import exp
from pathlib import Path
from types import SimpleNamespace

import pytest

from daemon.commands.printed.report_text import lines as report_lines
from daemon.commands.printed.report_text import part_rows
from daemon.firing.events import Rank, Saying
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.report import judge
from daemon.firing.setup import Reads
from daemon.lifecycle.resume import entries
from daemon.lifecycle.setup_from_store import known_setup
from daemon.store import alerts, found_parts, plans
from web.firings.alert_entries import entry_of
from web.firings.plan_and_run import asked_words, rows
from web.firings.record import read_record

SLUMP = (Path(__file__).parents[1] / "slump.toml").read_text(encoding="utf-8")
CUT_S = 3600.0 * 620 / 400 + 600 + 3600 * 124 / 500 + 600
"""Ten minutes into the anneal: 620 K at 400 °C/h, ten minutes at 640 °C, 124 K at 500 °C/h [s]."""
DARK_S = 900.0


def curve(began_s):
    """Return what the probe reads: SLUMP until the cut, 250 °C/h down, then 150 °C/h back, 60 min, 55 °C/h down."""
    climb_s, hold_s = 3600.0 * 620 / 400, 600.0
    fall_s = 3600.0 * 124 / 500
    low_c = 516.0 - 250.0 * DARK_S / 3600
    back_s = (516.0 - low_c) / 150.0 * 3600
    corners = [(0.0, 20.0), (climb_s, 640.0), (climb_s + hold_s, 640.0), (climb_s + hold_s + fall_s, 516.0),
               (CUT_S, 516.0), (CUT_S + DARK_S, low_c), (CUT_S + DARK_S + back_s, 516.0),
               (CUT_S + DARK_S + back_s + 3600.0, 516.0), (CUT_S + DARK_S + back_s + 3600.0 + 14_400.0, 296.0)]

    def says(clock_s):
        t_s = clock_s - began_s
        for (a_s, a_c), (b_s, b_c) in pairwise(corners):
            if a_s <= t_s < b_s:
                return a_c + (b_c - a_c) * (t_s - a_s) / (b_s - a_s) + 0.2 * (int(t_s) % 3 - 1)
        return corners[-1][1]
    return says


@pytest.fixture
def dark(left_off):
    """Return a studio in the 15th minute of a power cut in its anneal; from there on its probe says 21 °C."""

    def run(built):
        built.start_firing(plan_id=built.add_plan(SLUMP))
        built.says = curve(built.firing().start_clock_s)
        built.run(CUT_S + DARK_S - 10)

    return left_off("cut in the anneal", run)


@pytest.fixture
def cut(dark):
    """Return it with the power just back."""
    dark.says = curve(dark.firing().start_clock_s)
    dark.run(20)
    return dark


def wakes(studio):
    return [a for a in studio.see(lambda db: alerts.alerts(db, studio.firing().firing_id)) if a.rank is Rank.WAKE]


def test_lines_keyed_in_are_the_plan_from_here_and_wake_nobody_again(cut):
    shown = next(alert for alert in cut.present()["alerts"] if alert["kind"] == "firing-stopped")
    lines = shown["text"]["lines"]
    assert lines[0] == [150.0, 516.0, 3600.0]  # 6 mm asks 60 min; refired as a fused plate
    assert cut.ask("keyed-in", firing_id=cut.firing().firing_id, lines=lines) == "done"
    plan = cut.see(lambda db: plans.plan(db, cut.firing().plan_id))
    assert plan.only_for == cut.firing().firing_id
    assert plan.title.startswith("Slump, as keyed in at ")
    assert [p.title for p in cut.see(plans.plans)] == ["Slump"]  # offered for no other firing
    steps = plan.parsed().steps
    assert (steps[0].to_c, steps[0].hold_s) == (640.0, 600.0)
    assert steps[1].to_c == 516.0
    assert 480.0 < steps[1].hold_s < 720.0  # ten minutes were held
    assert (steps[2].rate_c_per_h, steps[2].to_c) == (
        pytest.approx(250.0, rel=0.05), pytest.approx(516.0 - 62.5, abs=5.0))  # the fall as it was
    assert [(s.rate_c_per_h, s.to_c, s.hold_s, s.purpose) for s in steps[3:5]] == [
        (150.0, 516.0, 3600.0, "anneal"), (55.0, 370.0, 0.0, None)]
    assert all(alert["cleared_s"] is not None for alert in cut.present()["alerts"])
    before = len(wakes(cut))
    assert before == 1
    cut.run(3600.0 * 62.5 / 150 + 1800)
    assert (cut.present()["part"]["step"], cut.present()["part"]["part"]) == (4, "hold")
    cut.run(1800 + 3600)
    assert len(wakes(cut)) == before
    assert cut.present()["part"]["step"] == 5
    said = cut.see(lambda db: found_parts.said(db, cut.firing().firing_id))
    assert [s.what for s in said] == [Saying.KEYED_IN]


def test_the_firing_goes_on_by_the_lines_after_a_restart(cut):
    lines = cut.present()["alerts"][-1]["text"]["lines"]
    assert cut.ask("keyed-in", firing_id=cut.firing().firing_id, lines=lines) == "done"
    cut.run(1800)
    step = cut.present()["part"]
    cut.kill()
    cut.start()
    cut.run(10)
    assert cut.present()["part"] == step


def test_page_and_replay_tell_what_the_lines_answered_and_ask_nothing_of_the_time_before_them(cut):
    """The kiln climbs by itself for twenty minutes before anybody comes down and keys lines in."""
    lines = cut.present()["alerts"][-1]["text"]["lines"]
    cut.run(1200)
    keyed_s = cut.present()["t_s"]
    assert cut.ask("keyed-in", firing_id=cut.firing().firing_id, lines=lines) == "done"
    cut.run(1800)
    record = cut.see(lambda db: read_record(db, SimpleNamespace(unit="C", zone=UTC), cut.firing()))
    firing = cut.firing()

    def replayed(db):
        return judge(known_setup(db, firing, Reads("C")), entries(db, firing.firing_id))

    found = cut.see(replayed)
    table = [(row.asked, row.start_s) for row in rows(record.course, record.last_s, "C")]
    told = [(row.asked, row.start_s) for row in part_rows(found)]
    for told_rows in (table, told):
        before = [start_s for asked, start_s in told_rows if asked == "not planned"][-1]
        assert before == pytest.approx(CUT_S + DARK_S, abs=120.0)
        after = next(start_s for asked, start_s in told_rows if "150" in asked)
        assert after == pytest.approx(keyed_s, abs=10.0)
    states = [entry_of(a, record.starts, record.alerts, keyed_s=record.keyed_s).state for a in record.alerts]
    assert any(state.startswith("answered by the lines keyed in at ") for state in states)
    said = "\n".join(report_lines(found))
    assert said.count("answered by the lines keyed in at") == sum(state.startswith("answered by") for state in states)


@pytest.mark.parametrize("lines", [[], None, [["fast", 516.0, 0.0]], [[150.0, 5000.0, 0.0]], "516"])
def test_what_is_no_line_is_refused_and_changes_nothing(studio, slump, lines):
    studio.start_firing(plan_id=slump)
    studio.run(60)
    assert studio.ask("keyed-in", firing_id=studio.firing().firing_id, lines=lines).startswith("refused")
    assert studio.firing().plan_id == slump


def test_a_firing_without_a_plan_has_none_to_go_on(studio):
    studio.start_firing()
    studio.run(60)
    assert "Choose its plan first" in studio.ask(
        "keyed-in", firing_id=studio.firing().firing_id, lines=[[150.0, 516.0, 3600.0]])


def test_what_is_keyed_in_at_a_fahrenheit_controller_stands_in_whole_degrees_fahrenheit(cut):
    cut.watch._config = replace(cut.config, controller_unit="F")
    lines = [[150.0, 516.0, 3600.0], [55.0, 370.0, 0.0]]
    assert cut.ask("keyed-in", firing_id=cut.firing().firing_id, lines=lines) == "done"
    toml = cut.see(lambda db: plans.plan(db, cut.firing().plan_id)).toml
    assert 'unit = "F"' in toml
    assert "to = 961" in toml  # 960.8
    assert "rate = 99" in toml  # 55 × 1.8


@pytest.fixture
def still_dark(dark):
    """Return the same studio where the power does not come back: the kiln falls on."""
    studio, began_s = dark, dark.firing().start_clock_s
    as_cut = curve(began_s)
    from_s = CUT_S + DARK_S

    def says(clock_s):
        dark_s = clock_s - began_s - from_s
        if dark_s < 0.0:
            return as_cut(clock_s)
        # Newton's law of cooling from 453.5 °C to a room of 20 °C: 250 °C/h there is a time constant of 1.73 h.
        above_k = (516.0 - 250.0 * DARK_S / 3600 - 20.0) * exp(-dark_s / 3600 / 1.73)
        return 20.0 + above_k + 0.2 * (int(clock_s) % 3 - 1)
    studio.says = says
    studio.run(20)
    return studio


LINES = [[150.0, 516.0, 3600.0], [55.0, 370.0, 0.0], [None, 40.0, 0.0]]
EIGHT_MIN_S = 480.0


def test_a_climb_keyed_in_that_the_kiln_does_not_begin_wakes_again(still_dark):
    studio = still_dark
    assert studio.ask("keyed-in", firing_id=studio.firing().firing_id, lines=LINES) == "done"
    before = len(wakes(studio))
    studio.run(EIGHT_MIN_S - 30)
    assert len(wakes(studio)) == before
    studio.run(120)
    assert len(wakes(studio)) == before + 1
    again = wakes(studio)[-1]
    assert (again.kind, again.cleared_s) == ("firing-stopped", None)
    assert again.text.head == "Power off? The kiln does not climb as you keyed in."
    assert again.text.lines[0] == (150.0, 516.0, 3600.0)
    assert again.text.meaning.startswith("The anneal was cut short.")
    assert again.text.before_s is not None
    studio.run(600)
    assert len(wakes(studio)) == before + 1
    assert wakes(studio)[-1].cleared_s is None


def test_lines_keyed_in_twice_are_asked_for_from_the_second_time_on(still_dark):
    studio = still_dark
    for _ in range(2):
        assert studio.ask("keyed-in", firing_id=studio.firing().firing_id, lines=LINES) == "done"
        assert all(alert["cleared_s"] is not None for alert in studio.present()["alerts"])
        before = len(wakes(studio))
        studio.run(EIGHT_MIN_S - 30)
        assert len(wakes(studio)) == before
        studio.run(120)
        assert len(wakes(studio)) == before + 1
    targets_c = [step.to_c for step in studio.see(lambda db: plans.plan(db, studio.firing().plan_id)).parsed().steps]
    assert (targets_c[:2], targets_c[-3:]) == ([640.0, 516.0], [516.0, 370.0, 40.0])
    # Between them stand the two falls, and no climb that the kiln never made.
    fell_to = targets_c[2:-3]
    assert fell_to == sorted(fell_to, reverse=True)
    assert len(fell_to) == 2


@pytest.mark.parametrize("lines", [[[None, 40.0, 0.0]], [[300.0, 300.0, 0.0], [None, 40.0, 0.0]]])
def test_lines_that_only_fall_ask_for_no_climb(still_dark, lines):
    studio = still_dark
    assert studio.ask("keyed-in", firing_id=studio.firing().firing_id, lines=lines) == "done"
    before = len(wakes(studio))
    studio.run(1800)
    assert len(wakes(studio)) == before


def against_plan(present):
    """Return where the plan has the kiln in the fall, and whether the sentence holds it against that."""
    return present["planned_c"], "below plan" in present["sentence"]


def test_of_what_broke_off_nothing_is_asked_that_nobody_planned(still_dark):
    studio = still_dark
    assert studio.ask("keyed-in", firing_id=studio.firing().firing_id, lines=LINES) == "done"
    parts = planned_parts(studio.see(lambda db: plans.plan(db, studio.firing().plan_id)).parsed())
    asked = {(part.step, part.part): asked_words(part, "C") for part in parts}
    assert asked[1, "hold"].replace("\xa0", " ") == "640 °C for 10 min"  # it was done as planned
    assert (asked[2, "hold"], asked[3, "ramp"]) == ("broke off", "not planned")
    assert asked[4, "hold"].replace("\xa0", " ") == "516 °C for 1 h 00 min"
    assert against_plan(studio.present()) == (None, False)
    pressed_s = studio.present()["t_s"]
    studio.run(1800)
    stored = studio.see(lambda db: alerts.alerts(db, studio.firing().firing_id))
    found = [alert for alert in stored if alert.raised_s > pressed_s]
    assert [alert.kind for alert in found if alert.under is None] == ["firing-stopped"]
    # The fall of 250 °C/h before the lines is held against no rate; 55 °C/h is that of the third line.
    assert all("planned 55 °C/h" in alert.text.what for alert in found if alert.kind == "cooling-too-fast")


def record(studio):
    """Return all that is stored of what was told in the firing: alerts, their steps, milestones, messages."""
    def read(db):
        number = studio.firing().firing_id
        return (alerts.alerts(db, number), alerts.transitions(db, number), found_parts.milestones(db, number),
                db.execute("SELECT title, body FROM outbox").fetchall())
    return studio.see(read)


def test_what_was_told_before_stays_in_the_record_and_a_restart_tells_nothing_again(still_dark):
    studio = still_dark
    told, told_steps, milestones, messages = record(studio)
    for _ in range(2):
        assert studio.ask("keyed-in", firing_id=studio.firing().firing_id, lines=LINES) == "done"
    pressed, pressed_steps, pressed_milestones, pressed_messages = record(studio)
    assert [replace(alert, cleared_s=None) for alert in pressed] == [replace(alert, cleared_s=None) for alert in told]
    assert (pressed_steps[:len(told_steps)], pressed_milestones, pressed_messages) == (
        told_steps, milestones, messages)
    assert {step.change for step in pressed_steps[len(told_steps):]} == {"over"}
    studio.run(900)
    setup = studio.see(lambda db: known_setup(db, studio.firing(), Reads("C")))
    assert [plan.title for plan in setup.left] == ["Slump", setup.plan.title]
    before, shown = record(studio), studio.present()["alerts"]
    assert len(before[0]) > len(told)
    studio.kill()
    (studio.folder / "checkpoint").unlink(missing_ok=True)
    studio.start()
    assert record(studio) == before
    studio.run(20)
    assert [(a["no"], a["kind"], a["cleared_s"]) for a in studio.present()["alerts"]] == [
        (a["no"], a["kind"], a["cleared_s"]) for a in shown]
