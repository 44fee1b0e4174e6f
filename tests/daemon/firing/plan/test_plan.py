"""A plan written in TOML is read as meant, in either unit, or refused with every problem and its remedy."""

from __future__ import annotations

import json
from dataclasses import astuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daemon.errors import BadInput
from daemon.firing.plan.plan import (
    MAX_HOLD_MIN,
    MAX_RATE_C_PER_H,
    MAX_STEPS,
    MAX_TARGET_C,
    PURPOSES,
    Plan,
    Step,
    parse_plan,
    rate_to_unit,
    to_unit,
    write_plan,
)

PAPER_C = """
title = "Full fuse, two layers"
unit = "C"

[[step]]
rate = 220
to = 670
hold_min = 30
purpose = "squeeze"
tell = "close the vent"

[[step]]
rate = "free"
to = 800.5
"""
PAPER_F = """
title = "Full fuse, two layers"
unit = "F"

[[step]]
rate = 396
to = 1238
hold_min = 30
purpose = "squeeze"
tell = "close the vent"

[[step]]
rate = "free"
to = 1472.9
"""


def read(text: str) -> Plan | str:
    """Return the plan, or the message that refuses it."""
    try:
        return parse_plan(text, "night.toml")
    except BadInput as refused:
        return refused.text


def refusal(text: str) -> str:
    told = read(text)
    assert isinstance(told, str), "this plan should have been refused"
    assert told.startswith("night.toml: ")
    return told


def one_step(lines: str, unit: str = "C") -> str:
    return f'title = "Odd"\nunit = "{unit}"\n[[step]]\n{lines}\n'


def test_a_plan_is_read_as_written():
    plan = parse_plan(PAPER_C, "night.toml")
    assert (plan.title, plan.unit) == ("Full fuse, two layers", "C")
    assert plan.steps == (Step(220.0, 670.0, 1800.0, "squeeze", "close the vent"), Step(None, 800.5))
    assert plan.highest_c == 800.5


def test_the_same_plan_in_fahrenheit_is_the_same_plan():
    # 220 °C/h = 396 °F/h; 670 °C = 1238 °F; 800.5 °C = 1472.9 °F (t_F = 1.8·t_C + 32, the definition).
    celsius, fahrenheit = parse_plan(PAPER_C, "c"), parse_plan(PAPER_F, "f")
    assert fahrenheit.unit == "F"
    for ours, theirs in zip(celsius.steps, fahrenheit.steps, strict=True):
        assert theirs.to_c == pytest.approx(ours.to_c, abs=1e-9)
        assert (theirs.rate_c_per_h is None) == (ours.rate_c_per_h is None)
        assert theirs.rate_c_per_h is None or theirs.rate_c_per_h == pytest.approx(ours.rate_c_per_h)
        assert (theirs.hold_s, theirs.purpose, theirs.tell) == (ours.hold_s, ours.purpose, ours.tell)


def test_degrees_and_differences_are_not_converted_alike():
    assert to_unit(0.0, "F") == 32.0
    assert to_unit(100.0, "F") == 212.0
    assert rate_to_unit(100.0, "F") == 180.0
    assert (to_unit(516.0, "C"), rate_to_unit(80.0, "C")) == (516.0, 80.0)


def test_a_hold_is_nothing_where_it_is_left_out():
    assert parse_plan(one_step("rate = 100\nto = 500"), "night.toml").steps[0].hold_s == 0.0


@pytest.mark.parametrize("purpose", PURPOSES)
def test_every_purpose_is_known(purpose):
    assert parse_plan(one_step(f'rate = 100\nto = 500\npurpose = "{purpose}"'), "x").steps[0].purpose == purpose


@pytest.mark.parametrize(("lines", "key", "value", "remedy"), [
    ("rate = 100\nto = 500\nhold = 30", "step 1: hold", "unknown key",
     "Known here: hold_min, purpose, rate, tell, to."),
    ("to = 500", "step 1: rate", "missing", "Write a number"),
    ("rate = 100", "step 1: to", "missing", "Write a number"),
    ("rate = -80\nto = 500", "step 1: rate", "-80 °C/h", "without a sign"),
    ("rate = 0\nto = 500", "step 1: rate", "0 °C/h", "without a sign"),
    ("rate = 9999\nto = 500", "step 1: rate", "9999 °C/h", 'rate = "free"'),
    ("rate = 0.01\nto = 500", "step 1: rate", "0.01 °C/h", "per hour"),
    ('rate = "full"\nto = 500', "step 1: rate", "'full'", '"free"'),
    ('rate = "80"\nto = 500', "step 1: rate", "'80'", "as a number"),
    ("rate = true\nto = 500", "step 1: rate", "True", "Write a number"),
    ("rate = [80]\nto = 500", "step 1: rate", "[80]", "Write a number"),
    ("rate = nan\nto = 500", "step 1: rate", "nan", "Write a number"),
    ("rate = 100\nto = 3000", "step 1: to", "3000 °C", "the unit"),
    ("rate = 100\nto = -10", "step 1: to", "-10 °C", "the unit"),
    ("rate = 100\nto = nan", "step 1: to", "nan", "Write a number"),
    ("rate = 100\nto = inf", "step 1: to", "inf", "Write a number"),
    ("rate = 100\nto = 1" + "0" * 400, "step 1: to", "1000000000", "Write a number"),
    ("rate = 100\nto = 0x" + "f" * 5000, "step 1: to", "thousands of digits", "Write a number"),
    ('rate = 100\nto = "516"', "step 1: to", "'516'", "without a unit"),
    ("rate = 100\nto = 1979-05-27", "step 1: to", "1979", "Write a number"),
    ("rate = 100\nto = 500\nhold_min = -1", "step 1: hold_min", "-1 min", "in minutes"),
    ("rate = 100\nto = 500\nhold_min = 36000", "step 1: hold_min", "36000 min", "in minutes"),
    ("rate = 100\nto = 500\nhold_min = 0:30", "night.toml", "not readable as TOML", "docs/commands.md"),
    ('rate = 100\nto = 500\npurpose = "cook"', "step 1: purpose", "'cook'", "squeeze, top, anneal, burn-off"),
    ("rate = 100\nto = 500\npurpose = 3", "step 1: purpose", "3", "squeeze, top, anneal, burn-off"),
    ("rate = 100\nto = 500\ntell = 3", "step 1: tell", "3", "quotes"),
    ('rate = 100\nto = 500\ntell = "a\\nb"', "step 1: tell", "more than one line", "one line"),
])
def test_a_wrong_line_is_named_with_its_value_and_the_remedy(lines, key, value, remedy):
    told = refusal(one_step(lines))
    assert f"{key}: " in told
    assert value in told
    assert remedy in told
    assert told.count("\n") <= 1  # one problem, told once


def test_limits_are_told_in_the_unit_of_the_plan():
    # 1400 °C is 2552 °F; 2000 °C/h is 3600 °F/h.
    assert "3000 °F is outside 32 to 2552 °F" in refusal(one_step("rate = 100\nto = 3000", "F"))
    assert "3700 °F/h is faster" in refusal(one_step("rate = 3700\nto = 500", "F"))
    assert isinstance(read(one_step("rate = 3600\nto = 2552\nhold_min = 10000", "F")), Plan)
    assert isinstance(read(one_step("rate = 2000\nto = 1400\nhold_min = 10000")), Plan)
    assert isinstance(read(one_step("rate = 100\nto = 32", "F")), Plan)


@pytest.mark.parametrize(("text", "told_of"), [
    ("", "step: the plan has no step. Write at least one [[step]]"),
    ('title = "x"\nunit = "C"', "the plan has no step"),
    ('title = "x"\nunit = "C"\nstep = []', "the plan has no step"),
    ('title = "x"\nunit = "C"\n[step]\nrate = 100\nto = 500', "the plan has no step"),
    ('title = "x"\nunit = "C"\nstep = [3]', "step 1: 3 is not a step. Write [[step]]"),
    ('title = "x"\n[[step]]\nrate = 100\nto = 500', 'unit: missing. Write unit = "C" or unit = "F".'),
    ('title = "x"\nunit = "K"\n[[step]]\nrate = 100\nto = 500', "unit: 'K' is not a unit"),
    ('title = "x"\nunit = "c"\n[[step]]\nrate = 100\nto = 500', "unit: 'c' is not a unit"),
    ('unit = "C"\n[[step]]\nrate = 100\nto = 500', 'title: missing. Write title = "…".'),
    ('title = "  "\nunit = "C"\n[[step]]\nrate = 100\nto = 500', "title: missing"),
    ('title = 3\nunit = "C"\n[[step]]\nrate = 100\nto = 500', "title: 3 is not text"),
    ('title = "' + "x" * 300 + '"\nunit = "C"\n[[step]]\nrate = 100\nto = 500', "300 characters. Write at most 200."),
    ('title = "x"\nunit = "C"\nkiln = "top"\n[[step]]\nrate = 100\nto = 500', "kiln: unknown key. Known here: step"),
    ('title = "x"\ntitle = "y"', "not readable as TOML"),
    ("seconds,celsius,fault\n0,20,\n", "not readable as TOML"),
])
def test_a_plan_that_is_none_says_what_to_write(text, told_of):
    assert told_of in refusal(text)


def test_no_controller_takes_more_steps_than_that():
    step = "[[step]]\nrate = 100\nto = 500\n"
    assert isinstance(read('title = "x"\nunit = "C"\n' + step * MAX_STEPS), Plan)
    assert f"has {MAX_STEPS + 1} steps" in refusal('title = "x"\nunit = "C"\n' + step * (MAX_STEPS + 1))


def test_every_problem_is_told_at_once():
    told = refusal("""
        kiln = "x"
        unit = "K"
        [[step]]
        rate = -80
        to = 3000
        hold_min = "x"
        [[step]]
        pace = 3
        rate = 100
        to = nan
        """)
    for key in ("kiln", "title", "unit", "step 1: rate", "step 1: to", "step 1: hold_min", "step 2: pace",
                "step 2: to"):
        assert f"\n  {key}: " in told


ONE_LINE = st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=40)
STEPS = st.builds(
    Step,
    rate_c_per_h=st.none() | st.floats(0.11, MAX_RATE_C_PER_H), to_c=st.floats(0.0, MAX_TARGET_C),
    hold_s=st.just(0.0) | st.floats(1.0, MAX_HOLD_MIN * 60), purpose=st.none() | st.sampled_from(PURPOSES),
    tell=st.none() | ONE_LINE.filter(bool),
)
PLANS = st.builds(Plan, title=ONE_LINE.filter(str.strip), unit=st.sampled_from("CF"),
                  steps=st.lists(STEPS, min_size=1, max_size=6).map(tuple))


@given(PLANS)
def test_a_plan_written_down_is_read_back(plan):
    again = parse_plan(write_plan(plan), "night.toml")
    assert (again.title, again.unit) == (plan.title, plan.unit)
    assert len(again.steps) == len(plan.steps)
    for back, step in zip(again.steps, plan.steps, strict=True):
        for got, meant in zip(astuple(back), astuple(step), strict=True):
            assert got == (pytest.approx(meant, abs=1e-4) if isinstance(meant, float) else meant)


@given(PLANS)
def test_writing_a_plan_twice_writes_the_same(plan):
    once = write_plan(plan)
    assert write_plan(parse_plan(once, "night.toml")) == once


@given(celsius=st.integers(0, 1400), rate=st.integers(1, 2000), hold_min=st.integers(0, 10_000))
def test_whole_figures_stay_whole_in_either_unit(celsius, rate, hold_min):
    text = one_step(f"rate = {rate}\nto = {celsius}\nhold_min = {hold_min}")
    plan = parse_plan(text, "night.toml")
    assert f"rate = {rate}\n" in write_plan(plan)
    assert f"to = {celsius}\n" in write_plan(plan)
    fahrenheit = parse_plan(one_step(f"rate = {rate}\nto = {celsius + 32}", "F"), "night.toml")
    assert f"rate = {rate}\n" in write_plan(fahrenheit)
    assert f"to = {celsius + 32}\n" in write_plan(fahrenheit)


VALUES = st.one_of(
    st.floats().map(lambda x: repr(x) if x == x and abs(x) != float("inf") else str(x)),
    st.floats(0, 3000).map(repr), st.integers().map(str), st.integers(10**300, 10**400).map(str),
    st.text(max_size=8).map(lambda text: json.dumps(text).replace("\x7f", "\\u007f")),
    st.sampled_from(['"free"', '"anneal"', "true", "[]", "{}", "[[1]]", "1979-05-27", "07:32:00", "inf", "nan"]),
)


@pytest.mark.slow
@given(top=st.dictionaries(st.sampled_from(("title", "unit", "kiln")), VALUES),
       steps=st.lists(st.dictionaries(st.sampled_from(("rate", "to", "hold_min", "purpose", "tell", "odd")), VALUES),
                      max_size=4))
def test_no_plan_gives_a_traceback(top, steps):
    text = "".join(f"{key} = {value}\n" for key, value in top.items())
    for step in steps:
        text += "[[step]]\n" + "".join(f"{key} = {value}\n" for key, value in step.items())
    found = read(text)
    if isinstance(found, str):
        assert found.startswith("night.toml: ")
    else:
        assert all(0 <= step.to_c <= MAX_TARGET_C for step in found.steps)


@given(st.text(max_size=200))
def test_no_text_gives_a_traceback(text):
    assert read(text)
