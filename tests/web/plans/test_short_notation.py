"""A plan from paper and back is the same plan."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from daemon.errors import BadInput
from daemon.firing.plan.plan import write_plan
from web.plans.short_notation import read_paper, write_paper

STEPS = st.lists(
    st.tuples(
        st.one_of(st.just("free"), st.integers(1, 999).map(str)), st.integers(50, 1000).map(str),
        st.integers(0, 600), st.sampled_from(["", " squeeze", " top", " anneal", " burn-off"]),
    ), min_size=1, max_size=12,
)


@settings(max_examples=60, deadline=None)
@given(STEPS, st.sampled_from("CF"))
def test_writing_and_reading_again_changes_nothing(steps, unit):
    text = "\n".join(f"{rate} / {to} / {hold // 60}:{hold % 60:02d}{purpose}" for rate, to, hold, purpose in steps)
    plan = read_paper("A plan", unit, text)
    again = read_paper("A plan", unit, "\n".join(write_paper(plan)))
    assert write_plan(again) == write_plan(plan)


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_a_plan_or_a_reason_why_not(text):
    with suppress(BadInput):
        assert read_paper("A plan", "C", text).steps


@pytest.mark.parametrize(("line", "rate_c_per_h", "to_c", "hold_s"), [
    ("150/620/0:30", 150.0, 620.0, 1800.0),
    ("150 620 30", 150.0, 620.0, 1800.0),
    ("AFAP / 800 / 10", None, 800.0, 600.0),
    ("9999 / 800", None, 800.0, 0.0),
    ("  27,5 ; 480 ; 1:05 anneal ", 27.5, 480.0, 3900.0),
])
def test_the_ways_a_step_stands_on_paper(line, rate_c_per_h, to_c, hold_s):
    [step] = read_paper("A plan", "C", line).steps
    assert (step.rate_c_per_h, step.to_c, step.hold_s) == (rate_c_per_h, to_c, hold_s)


def test_every_bad_line_is_named_at_once():
    with pytest.raises(BadInput) as told:
        read_paper("A plan", "C", "220 / x\n220 / 670 / 10\nfree")
    assert "Line 1" in told.value.problem
    assert "Line 3" in told.value.problem
    assert "Line 2" not in told.value.problem


def test_a_title_with_quotes_does_not_break_out_of_the_plan():
    title = 'A "plan"\\ [[step]] rate = 1'
    assert read_paper(title, "C", "220 / 670").title == title


def test_minutes_to_the_target_are_read_as_some_papers_have_them():
    # From a room of 20 °C: 650 K in 3 h 15 min is 200 K/h; 130 K in 26 min 300 K/h; down 284 K in 71 min 240 K/h.
    plan = read_paper("Minutes", "C", "3:15 / 670 / 30\n26 / 800 / 0:10\n71 / 516 / 1:00 anneal", "minutes")
    assert [round(step.rate_c_per_h, 6) for step in plan.steps] == [200.0, 300.0, 240.0]
    assert [step.hold_s for step in plan.steps] == [1800.0, 600.0, 3600.0]


@pytest.mark.parametrize("line", ["0 / 670", "soon / 670", "-5 / 670"])
def test_a_time_to_the_target_that_is_none_is_named(line):
    with pytest.raises(BadInput, match="is no time to the target"):
        read_paper("Minutes", "C", line, "minutes")
