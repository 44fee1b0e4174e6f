"""Holding a judgement against the truth."""

from __future__ import annotations

from dataclasses import replace
from math import inf

from daemon.firing.events import Alert, AlertChanged, Part, Rank, Text
from daemon.firing.plan.plan import Plan
from daemon.firing.report import judge
from simulations.cases import Case, Expected
from simulations.random_plans import on_paper
from simulations.studies.faulty.case import faulty_case
from simulations.studies.onsets import Course, onset_s
from simulations.studies.scoring import _began_s, _unexpected, answer, compare_boundaries, score
from simulations.studies.study import case_named
from simulations.truth import TruePart


def test_boundaries_are_counted_by_step_and_kind():
    true = [TruePart(1, "ramp", -60, 3600), TruePart(1, "hold", 3600, 7200), TruePart(2, "ramp", 7200, 9000)]
    found = [Part(0, 1, "ramp", 0, 3700), Part(1, 1, "hold", 3700, 7600), Part(2, 2, "ramp", 7600, 9000),
             Part(3, 2, "hold", 9000, 9500)]
    # The first began before the first reading and can't be seen; the third is 400 s off; the hold never was.
    assert compare_boundaries(true, found) == (2, 1, 2, 0, 1)
    assert compare_boundaries(true, found[:1]) == (2, 0, 0, 2, 0)


def test_a_restarted_part_is_matched_with_the_nearest_of_its_like():
    true = [TruePart(1, "ramp", 100, 3600), TruePart(1, "ramp", 9000, 12_000)]
    found = [Part(0, 1, "ramp", 9050, 12_000), Part(0, 1, "ramp", 90, 3600)]
    assert compare_boundaries(true, found) == (2, 2, 2, 0, 0)


def test_a_boundary_seen_late_is_right_from_when_it_was_until_it_is_seen():
    true = [TruePart(1, "hold", 3600, 7200, bend_s=4000)]
    for start_s, within_3 in ((3300, 0), (3450, 1), (3800, 1), (4150, 1), (4200, 0)):
        assert compare_boundaries(true, [Part(0, 1, "hold", start_s, 7200)])[1] == within_3


def test_a_boundary_that_leaves_no_mark_is_asked_of_nobody():
    true = [TruePart(1, "ramp", 100, 3600), TruePart(2, "ramp", 3600, 7200, bend_s=inf)]
    assert compare_boundaries(true, [Part(0, 1, "ramp", 100, 7200)]) == (1, 1, 1, 1, 0)


def alert(kind: str, raised_s: float, woke_s: float | None = None) -> Alert:
    rank = Rank.LOOK if woke_s is None else Rank.WAKE
    return Alert(1, kind, rank, raised_s, raised_s, Text("", "", ""), woke_s)


def test_an_answer_counts_from_the_true_onset():
    case = case_named("lid-opened")
    fired = case.fire()
    report, course = judge(case.setup, fired.samples[:10]), Course(case, fired)
    lid = next(h for h in fired.truth.faults if h.name == "lid")
    expected = Expected(("sudden-drop",), "wake", "lid", ("firing-stopped",), wake_after_s=120)
    assert onset_s(expected, course) == lid.at_s

    def of(*alerts: Alert):
        return answer(expected, lid.at_s, type(report)(**{**vars(report), "alerts": alerts}), course)

    told = of(alert("firing-stopped", lid.at_s + 60, lid.at_s + 180))
    assert (told.raised_min, told.woke_min, told.is_named_right, told.is_ranked_right) == (1.0, 1.0, False, True)
    true_c = dict(zip(fired.truth.times_s, fired.truth.probe_c, strict=True))
    assert told.lost_k == abs(true_c[lid.at_s + 60] - true_c[lid.at_s]) > 5.0
    assert of(alert("sudden-drop", lid.at_s - 600)).raised_min is None
    assert of(alert("hold-overrun", lid.at_s + 60)).raised_min is None
    looked = of(alert("sudden-drop", lid.at_s + 30))
    assert (looked.woke_min, looked.is_named_right, looked.is_ranked_right) == (None, True, False)


def test_a_power_cut_that_is_due_later_may_be_told_as_it_comes():
    """As after a top that was given: it matters once the fall passes the anneal, here by hand an hour later."""
    case = case_named("power-gone-1141000004")
    fired = case.fire()
    report, course = judge(case.setup, fired.samples[:10]), Course(case, fired)
    [expected], [cut] = case.expected, fired.truth.faults
    due_s = cut.at_s + 3600.0

    def of(one: Alert):
        return answer(expected, due_s, type(report)(**{**vars(report), "alerts": (one,)}), course)

    early, before = (of(alert("firing-stopped", cut.at_s + s, cut.at_s + s)) for s in (240.0, -240.0))
    assert (early.raised_min, early.woke_min, early.is_ranked_right) == (0.0, 0.0, True)
    assert before.raised_min is None
    looked = of(alert("firing-stopped", cut.at_s + 240.0, due_s + 600.0))
    assert (looked.raised_min, looked.woke_min) == (0.0, 10.0)


def test_an_alert_that_takes_the_right_name_later_answers_by_that_and_what_stands_under_it_is_silent():
    case = case_named("lid-opened")
    fired = case.fire()
    report, course = judge(case.setup, fired.samples[:10]), Course(case, fired)
    expected = Expected(("restarted",), "wake", "restart", ("hold-cut-short",))
    renamed = replace(alert("restarted", 600.0, 840.0), named=((3900.0, "firing-stopped"),))
    under = replace(alert("hold-cut-short", 3600.0), under="firing-stopped")
    told = answer(expected, 3600.0, type(report)(**{**vars(report), "alerts": (renamed, under)}), course)
    assert (told.raised_min, told.woke_min, told.named, told.is_ranked_right) == (5.0, 5.0, "restarted", True)
    alone = answer(expected, 3600.0, type(report)(**{**vars(report), "alerts": (under,)}), course)
    assert (alone.raised_min, alone.named, alone.is_named_right) == (0.0, "hold-cut-short", False)


def test_what_is_only_to_be_noted_must_be_noted_and_no_more():
    case = case_named("lid-opened")
    fired = case.fire()
    report, course = judge(case.setup, fired.samples[:10]), Course(case, fired)
    expected = Expected(("firing-stopped",), "log", "power-cut")

    def of(one: Alert):
        return answer(expected, 600.0, type(report)(**{**vars(report), "alerts": (one,)}), course)

    noted = of(replace(alert("firing-stopped", 720.0), rank=Rank.LOG))
    assert (noted.raised_min, noted.is_ranked_right, noted.is_named_right) == (2.0, True, True)
    assert not of(alert("firing-stopped", 720.0)).is_ranked_right
    looked = replace(expected, rank="look")
    told = answer(looked, 600.0, type(report)(**{**vars(report), "alerts": (
        replace(alert("firing-stopped", 720.0), rank=Rank.LOG),)}), course)
    assert told.raised_min is None  # noted is not told


def test_what_is_noted_first_is_told_from_when_it_became_a_look():
    case = case_named("lid-opened")
    fired = case.fire()
    report, course = judge(case.setup, fired.samples[:10]), Course(case, fired)
    one = alert("not-climbing", 720.0)
    steps = (AlertChanged(720.0, "raised", replace(one, rank=Rank.LOG), None),
             AlertChanged(1200.0, "sharpened", one, Rank.LOG))
    told = answer(Expected(("not-climbing",), "look", "stuck"), 600.0, type(report)(
        **{**vars(report), "alerts": (one,), "events": steps}), course)
    assert told.raised_min == 10.0


SHORT = on_paper("short", "300/200/10, free/100")


def test_where_another_plan_was_keyed_boundaries_say_nothing():
    right = score(Case("right", "scenario", SHORT))
    assert (right.boundaries, right.missing, right.is_as_meant) == (3, 0, True)
    keyed = score(Case("keyed", "scenario", SHORT, keyed=on_paper("other", "300/150, free/100")))
    assert (keyed.boundaries, keyed.within_3, keyed.within_10, keyed.missing, keyed.extra) == (0, 0, 0, 0, 0)


def test_only_what_nothing_asked_for_is_unexpected():
    case = replace(case_named("lid-opened"), expected=(
        Expected(("sudden-drop",), "look", "lid", ("firing-stopped",)),))
    fired = case.fire()
    report = judge(case.setup, fired.samples[:10])

    def of(*alerts: Alert, first_s: float | None = 3600.0):
        return _unexpected(case, type(report)(**{**vars(report), "alerts": alerts}), first_s)

    assert of(alert("sudden-drop", 3660.0), alert("firing-stopped", 3660.0, 3780.0)) == ((), ())
    assert of(alert("restarted", 4000.0, 4060.0)) == ((("restarted", 4060.0),), ())
    assert of(alert("sudden-drop", 600.0)) == ((), (("sudden-drop", 600.0),)), "long before the onset"
    assert of(alert("sudden-drop", 3600.0 - 80.0)) == ((), ()), "just before it"
    assert of(replace(alert("restarted", 4000.0, 4060.0), under="sudden-drop")) == ((), ()), "a consequence"
    renamed = replace(alert("restarted", 600.0), named=((3700.0, "sudden-drop"),))
    assert of(renamed) == ((), ())
    assert of(alert("sudden-drop", 3660.0), first_s=None) == ((), (("sudden-drop", 3660.0),)), "it never came to that"
    assert of(replace(alert("hold-overrun", 4000.0), rank=Rank.LOG)) == ((), ())


def test_a_kiln_that_truly_cannot_climb_as_planned_is_woken_for_whatever_else_goes_wrong():
    case = replace(case_named("lid-opened"), expected=(Expected(("sudden-drop",), "look", "lid"),))
    report = judge(case.setup, case.fire().samples[:10])
    step, from_c = case.plan.steps[0], 20.0
    planned_s = (step.to_c - from_c) / step.rate_c_per_h * 3600

    def of(kind: str, at_s: float, lasted_s: float, keyed: Plan | None = None, step: int = 1):
        alerts = (alert(kind, at_s, at_s),)
        weak = [TruePart(step, "ramp", 0.0, lasted_s)]
        told = type(report)(**{**vars(report), "alerts": alerts})
        return _unexpected(replace(case, keyed=keyed), told, 90_000.0, weak)[0]

    assert of("not-climbing", 9000.0, 2.5 * planned_s + 1800.0) == ()
    assert of("not-climbing", 9000.0, 1.5 * planned_s) == (("not-climbing", 9000.0),)
    assert of("hold-overrun", 9000.0, 2.5 * planned_s + 1800.0) == (("hold-overrun", 9000.0),)
    more = replace(case.plan, steps=(*case.plan.steps, *case.plan.steps))
    assert of("not-climbing", 9000.0, 1e6, more, len(more.steps)) == (("not-climbing", 9000.0),)


def test_what_a_fault_brings_about_before_what_is_asked_for_is_due_is_not_unexpected():
    case = faulty_case("restart-falling", 1121000003)
    fired = case.fire()
    outage = next(happened for happened in fired.truth.faults if happened.name == "restart")
    course = Course(case, fired)
    assert onset_s(case.expected[0], course) > outage.at_s + 1800.0, "an hour without power comes before the climb"
    assert _began_s(case.expected, course) == outage.at_s
    assert _began_s((), course) == inf
    assert score(case).wakes == ()


def test_what_is_told_between_a_lid_and_its_showing_tells_of_the_lid():
    """It is opened in a fall of 19 °C/h, woke a minute later, and is 20 K below its course after three."""
    case = faulty_case("lid-ajar", 1143000008)
    course = Course(case, case.fire())
    [lid] = course.truth.faults
    assert onset_s(case.expected[0], course) > lid.at_s + 150.0
    [told] = score(case).answers
    assert (told.named, told.woke_min, told.is_ranked_right) == ("cooling-too-fast", 0.0, True)
