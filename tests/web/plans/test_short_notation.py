"""A plan from paper and back is the same plan, and every habit of writing one is read or named."""

from __future__ import annotations

from contextlib import suppress
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from daemon.errors import BadInput
from daemon.firing.plan.plan import Plan, Step, in_c, parse_plan, write_plan
from web.plans.short_notation import MAX_STEPS, read, read_paper, write_paper


def _words(text, **how):
    """Return what the reading says of each line, without its step's number."""
    return [line.words.split(": ", 1)[-1] if line.kind == "step" else line.words for line in read(text, **how).lines]


# Each line is what some maker writes for: at 300 °F an hour to 1225 °F, and stay there for half an hour.
SAME_STEP = (
    "300 1225 30", "300/1225/30", "300 / 1225 / 0:30", "300,1225,30", "300, 1225, 30", "300; 1225; 30",
    "300 - 1225 - 30", "300-1225-30", "300 | 1225 | 30", "300\t1225\t30", "300 1,225 30", "300 1.225 30",
    "1. 300 1225 30", "1.300 1225 30", "1) 300 1225 30", "(1) 300 1225 30", "1: 300 1225 30", "1 300 1225 30",
    "1 - 300 1225 30", "#1 300 1225 30", "Step 1: 300 1225 30", "step 1 300 1225 30", "Seg 1. 300 1225 30",
    "- 300 1225 30", "• 300 1225 30", "* 300 1225 30", "300 1225 30m", "300 1225 30min", "300 1225 30 min",
    "300 1225 30'", "300 1225 :30", "300 1225 0:30:00", "300 1225 0.5h", "300 1225 0,5 h", "300 1225 0.5",
    "300 1225 0.5 hours", "300 1225 1800s", "300 to 1225 hold 30", "300 to 1225, hold 30 min", "300 -> 1225 / 30",
    "300 → 1225 @ 30", "300 @ 1225 30", "at 300 to 1225 hold 30", "ramp 300 to 1225, soak for 30 minutes",
    "to 1225 at 300, dwell 30", "rate 300 target 1225 hold 30", "1225 at 300/h hold 30",
    "300 to 1225 hold at 1225 for 30", "300 dph to 1225 for 30", "300/h 1225 30", "300°F/h 1225°F 30 min",
    "300 F/hr to 1225 F hold :30", "300 deg/hr 1225 deg 30", "300 degrees per hour to 1225 degrees 30",
    "300 °F per hour up to 1225 °F, then hold 30", "5°/min to 1225 hold 30", "300 1225 30 # vent shut",
    "300 1225 30 (lid wedged)", "300 to 1225\nhold 30", "300 1225 20\nsoak 10 min", "300 1225\n1225 hold 30",
    "# bowl\n\n300 1225 30", "Bowl blank, 6 mm (°F)\n300 1225 30", "rate / temp °F / hold\n300 / 1225 / 30",
    "300 1225 30\noff",
)


@pytest.mark.parametrize("text", SAME_STEP)
def test_one_step_in_every_hand(text):
    found = read(text)
    assert found.wrong == ()
    assert found.unit.unit == "F"
    [step] = found.plan.steps
    assert step.to_c == pytest.approx(in_c(1225, "F"))
    assert step.rate_c_per_h == pytest.approx(300 / 1.8)
    assert step.hold_s == pytest.approx(1800)
    assert any("climb 300 °F/h to 1225 °F" in line.words for line in found.lines)


@pytest.mark.parametrize("text", [
    "300 to 1,225 hold 30", "300 to 1,225, 30", "300, 1,225, 30", "300,1,225,30", "300 1,225, hold 30"])
def test_a_comma_for_thousands_is_read_as_one_whatever_stands_beside_it(text):
    [step] = read(text).plan.steps
    assert step.to_c == pytest.approx(in_c(1225, "F"))
    assert step.hold_s == 1800.0


def test_a_line_whose_one_comma_is_for_thousands_does_not_fall_to_a_degree():
    [step] = read("300 to 1,000", "F").plan.steps
    assert step.to_c == pytest.approx(in_c(1000, "F"))
    [step] = read("9,999 to 1,490").plan.steps
    assert step.rate_c_per_h is None


@pytest.mark.parametrize("text", ["1,225,30", "300 to 3,000 hold 30", "5,960 30"])
def test_a_figure_that_may_be_one_or_several_is_refused_with_the_remedy(text):
    found = read(text)
    assert found.plan is None
    [said] = found.wrong
    assert "may be one figure or several. Write blanks instead of commas" in str(said)


def test_a_slow_rate_and_its_target_between_commas_are_two_figures():
    [_, step] = read("300 1225 30\n5,960,30").plan.steps
    assert (step.rate_c_per_h, step.to_c) == (pytest.approx(5 / 1.8), pytest.approx(in_c(960, "F")))


@pytest.mark.parametrize("word", ["AFAP", "afap", "full", "FULL", "9999", "free", "as fast as possible", "max",
                                  "full power"])
@pytest.mark.parametrize("line", ["{} 1490 10", "{} / 1490 / 0:10", "{} to 1490 hold 10 min"])
def test_as_fast_as_the_kiln_goes(word, line):
    [step] = read(line.format(word)).plan.steps
    assert (step.rate_c_per_h, step.hold_s) == (None, 600.0)


@pytest.mark.parametrize(("hold", "minutes"), [
    ("90", 90), ("90m", 90), ("1h30", 90), ("1h30m", 90), ("1 h 30 min", 90), ("1:30", 90), ("1.5h", 90),
    ("1,5 h", 90), ("1.5", 90), ("2h", 120), ("2 hours", 120), ("2 hrs", 120), ("12.5 min", 12.5), ("45 sec", 0.75),
    ("0", 0), ("-", 0), ("no hold", 0),
])
def test_a_hold_in_every_hand(hold, minutes):
    [step] = read(f"250 800 {hold}").plan.steps
    assert step.hold_s == pytest.approx(minutes * 60)


@pytest.mark.parametrize("line", ["3:15 670 30", "195m 670 30", "195 min to 670 hold 30", "3h15 to 670 hold 30",
                                  "to 670 in 195 minutes, hold 30", "670 over 3:15 hold 30"])
def test_a_time_to_the_target_in_place_of_a_rate(line):
    # From a room of 20 °C: 650 K in 3 h 15 min is 200 K/h.
    found = read(line)
    assert found.plan.steps[0].rate_c_per_h == pytest.approx(200.0)
    assert "climb to 670 °C in 3 h 15 min (200 °C/h), hold 30 min" in found.lines[0].words


def test_a_whole_paper_is_read_and_said_again():
    paper = """Full fuse, two layers (°F)

1. 300   1225  :30   (bubble squeeze)
2. AFAP  1490  10
3. 9999   960  1h    anneal
4. -150   800
5. −300    70        # lid stays shut
off
"""
    found = read(paper)
    assert found.heading == "Full fuse, two layers (°F)"
    assert [line.words for line in found.lines] == [
        "“Full fuse, two layers (°F)”: a heading.",
        "Step 1: climb 300 °F/h to 1225 °F, hold 30 min, to squeeze the air out",
        "Step 2: climb as fast as the kiln goes to 1490 °F, hold 10 min",
        "Step 3: fall freely to 960 °F, hold 1 h, the anneal",
        "Step 4: fall 150 °F/h to 800 °F",
        "Step 5: fall 300 °F/h to 70 °F",
        "The end: the controller is off, and the kiln cools by itself.",
    ]
    assert found.unit.why == "Read in °F, as line 1 says."


@pytest.mark.parametrize(("text", "unit", "why"), [
    ("300 1225 30", "F", "no glass is fused at 1225 °C"),
    ("150 620 30", "C", "620 °F moves no glass"),
    ("150 950 30", "C", "the unit of this page"),
    ("50 120 60", "C", "the unit of this page"),
    ("300 F/h 950 30", "F", "as line 1 says"),
    ("Schedule in Celsius\n300 1225 30", "C", "as line 1 says"),
])
def test_the_unit_a_paper_does_not_name_is_the_likelier_one_and_said(text, unit, why):
    found = read(text)
    assert found.unit.unit == unit
    assert why in found.unit.why


def test_a_chosen_unit_counts_where_no_line_names_one():
    assert read("300 1225 30", "C").unit.unit == "C"
    assert read("300 °F/h 1225 30", "C").unit.why == "Read in °F, as line 1 says, though °C is chosen."


@pytest.mark.parametrize(("text", "told"), [
    ("220 / hot / 10", "Line 1: “220 / hot / 10”. “hot” is not understood."),
    ("220 / 67x", "“67x” is not understood"),
    ("220 / 670 / soon", "“soon” is not understood"),
    ("220 670 30\nopen the vent", "Line 2: “open the vent” is no step."),
    ("220 670 30 20 10", "has 5 figures of which nothing says what they are"),
    ("0 670 10", "“0” is no rate"),
    ("-220 670 10", "The minus sign says that it falls, but 670 is above the step before"),
    ("220 -> -670", "“-670” is no target"),
    ("220 -1 30", "“-1” is no target"),
    ("-1", "“-1” is no target"),
    ("220 670 -1", "“-1” is no hold"),
    ("220 9999 30", "9999 °F is outside 32 to 2552 °F"),
    ("hold 30", "There is no step before this hold"),
    ("free", "Line 1: “free” is no step"),
    ("220 3000 10", "Line 1, step 1: to: 3000 °F is outside"),
    ("220 670 10\n5000 800", "Line 2, step 2: rate: 5000 °C/h is faster than a kiln goes"),
    ("", "There is no step yet"),
    ("220 °C/h 670\n300 1225°F", "Line 2: it says °F, but line 1 says °C"),
    ("\n".join(["220 / 670"] * 60), "Write at most 40"),
])
def test_what_cannot_be_read_is_named_with_its_line_and_the_remedy(text, told):
    found = read(text)
    assert found.plan is None
    assert told in "\n".join(found.wrong)


def test_every_bad_line_is_named_at_once_and_the_good_ones_are_still_read():
    with pytest.raises(BadInput) as told:
        read_paper("A plan", "C", "220 / x\n220 / 670 / 10\nfree 20 hot")
    assert "Line 1" in told.value.problem
    assert "Line 3" in told.value.problem
    assert "Line 2" not in told.value.problem
    assert _words("220 / x\n220 / 670 / 10")[1] == "climb 220 °C/h to 670 °C, hold 10 min"


@pytest.mark.parametrize(("text", "told"), [
    ("1225 30", "climb as fast as the kiln goes to 1225 °F, hold 30 min (no rate is written)"),
    ("300 670\n150 60", "fall 150 °C/h to 60 °C"),
    ("300 670 30 vent shut", "climb 300 °C/h to 670 °C, hold 30 min (not read: “vent shut”)"),
    ("300 670 0.5", "climb 300 °C/h to 670 °C, hold 30 min (“0.5” read as hours)"),
    ("300 670 30\n1 5 480 60".replace("1 5", "2. 1.5"), "fall 1.5 °C/h to 480 °C, hold 1 h"),
    ("27,5 480", "climb 27.5 °C/h to 480 °C"),
])
def test_what_is_guessed_is_said(text, told):
    assert _words(text)[-1] == told


@pytest.mark.parametrize("heading", ["minutes to target, target, hold", "Time / temp / hold"])
def test_a_heading_says_what_the_columns_are(heading):
    # 650 K from a room of 20 °C in 195 min is 200 K/h.
    assert read(f"{heading}\n195 670 30").plan.steps[0].rate_c_per_h == pytest.approx(200.0)


def test_a_heading_says_that_holds_are_hours():
    assert read("rate / °C / hold (h)\n200 670 2").plan.steps[0].hold_s == 7200.0


def test_minutes_to_the_target_are_read_as_some_papers_have_them():
    # From a room of 20 °C: 650 K in 3 h 15 min is 200 K/h; 130 K in 26 min 300 K/h; down 284 K in 71 min 240 K/h.
    plan = read_paper("Minutes", "C", "3:15 / 670 / 30\n26 / 800 / 0:10\n71 / 516 / 1:00 anneal", "minutes")
    assert [round(step.rate_c_per_h, 6) for step in plan.steps] == [200.0, 300.0, 240.0]
    assert [step.hold_s for step in plan.steps] == [1800.0, 600.0, 3600.0]


@pytest.mark.parametrize("line", ["0 / 670", "-5 / 670"])
def test_a_time_to_the_target_that_is_none_is_named(line):
    with pytest.raises(BadInput, match="is no time to the target"):
        read_paper("Minutes", "C", line, "minutes")


def test_a_title_with_quotes_does_not_break_out_of_the_plan():
    title = 'A "plan"\\ [[step]] rate = 1'
    assert read_paper(title, "C", "220 / 670").title == title


def _steps(draw_figure):
    return st.lists(st.builds(
        Step, st.one_of(st.none(), draw_figure(0.2, 1100.0)), draw_figure(30.0, 1000.0),
        st.one_of(st.just(0.0), st.integers(1, 4000).map(lambda minutes: minutes * 60.0), st.integers(1, 500).map(
            lambda tenths: tenths * 6.0)),
        st.sampled_from([None, "squeeze", "top", "anneal", "burn-off"])), min_size=1, max_size=12)


def _tenths(low, high):
    return st.integers(round(low * 10), round(high * 10)).map(lambda tenths: tenths / 10)


def _in_unit(steps, unit):
    """Return a plan whose figures stand in ``unit`` as those of ``steps`` are written."""
    toml = write_plan(Plan("A plan", unit, ()))
    for step in steps:
        rate = '"free"' if step.rate_c_per_h is None else f"{step.rate_c_per_h}"
        purpose = f'\npurpose = "{step.purpose}"' if step.purpose else ""
        toml += (f"\n[[step]]\nrate = {rate}\nto = {step.to_c + (32 if unit == 'F' else 0)}\n"
                 f"hold_min = {step.hold_s / 60}{purpose}\n")
    return parse_plan(toml, "test")


def _alike(one, other):
    """Return whether two plans are the same to a hundredth of a degree and a second."""
    return len(one.steps) == len(other.steps) and all(
        a.purpose == b.purpose and abs(a.to_c - b.to_c) < 0.01 and abs(a.hold_s - b.hold_s) < 1
        and (a.rate_c_per_h is None) == (b.rate_c_per_h is None)
        and abs((a.rate_c_per_h or 0) - (b.rate_c_per_h or 0)) < 0.01
        for a, b in zip(one.steps, other.steps, strict=True))


@pytest.mark.slow
@settings(max_examples=150, deadline=None)
@given(_steps(_tenths), st.sampled_from("CF"))
def test_a_plan_written_on_paper_and_read_again_is_the_same(steps, unit):
    plan = _in_unit(steps, unit)
    found = read("\n".join(write_paper(plan)), unit)
    assert found.wrong == ()
    assert _alike(found.plan, plan)


HANDS = (
    lambda n, rate, to, hold: f"{n}. {rate} {to} {hold}",
    lambda n, rate, to, hold: f"{rate}/{to}/{hold // 60}:{hold % 60:02d}",
    lambda n, rate, to, hold: f"Step {n}: {rate} to {to}, hold {hold} min",
    lambda n, rate, to, hold: f"- ramp {rate} -> {to} @ {hold}m",
    lambda n, rate, to, hold: f"{rate}, {to}, {hold}",
    lambda n, rate, to, hold: f"{rate} to {to}\n  hold {hold // 60}h{hold % 60:02d}",
    lambda n, rate, to, hold: f"{rate} {to} {hold} # step {n}",
)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.one_of(st.sampled_from(["AFAP", "full", "9999"]), st.integers(5, 999)),
                          st.integers(100, 890), st.integers(1, 600)), min_size=1, max_size=12),
       st.sampled_from(HANDS))
def test_a_plan_in_another_hand_is_the_same_plan(rows, hand):
    # A hold line belongs to the step before; two steps at one target are one step that is held longer.
    assume(all(a[1] != b[1] for a, b in pairwise(rows)))
    found = read("\n".join(hand(n, *row) for n, row in enumerate(rows, start=1)), "C")
    assert found.wrong == ()
    got = [(step.rate_c_per_h, step.to_c, step.hold_s) for step in found.plan.steps]
    assert got == [(None if isinstance(rate, str) else pytest.approx(rate), pytest.approx(to), hold * 60.0)
                   for rate, to, hold in rows]


@settings(max_examples=300, deadline=None)
@given(st.one_of(st.text(max_size=200), st.text(alphabet="0123456789 ./:,-→@#°CFhmtoldfrep()\n", max_size=80)))
def test_any_text_is_a_plan_or_a_reason_why_not(text):
    with suppress(BadInput):
        plan = read_paper("A plan", "C", text)
        assert 0 < len(plan.steps) <= MAX_STEPS


def test_the_document_says_what_the_page_says():
    from pathlib import Path

    text = (Path(__file__).parents[3] / "docs" / "plans.md").read_text(encoding="utf-8")
    paper, said = (block.split("```")[0] for block in text.split("```text\n")[1:3])
    assert [line.words for line in read(paper).lines if line.kind == "step"] == said.strip().splitlines()
