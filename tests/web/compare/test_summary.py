"""The first sentences of a comparison: what differs, what sets an outcome apart, and no word of a cause."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from daemon.store.outcomes import Word
from web.compare.figures import Compared, figure_rows
from web.compare.measures import Measures
from web.compare.summary import HAZE_BEGINS, NO_CAUSE, summary

BASE = Measures(
    peak_c=800.0, peak_s=12_000.0, at_top_s=720.0,
    above_s={540.0: 9000.0, 620.0: 7200.0, 700.0: 3600.0, 760.0: 1500.0}, haze_rising_s=900.0, haze_falling_s=420.0,
    climb_c_per_h=220.0, first_fall_c_per_h=80.0,
    next_fall_c_per_h=150.0, length_s=50_000.0)


def firing(*outcome, **changes):
    return Compared("A", replace(BASE, **changes), 516.0, 3600.0, outcome)


def said(found, written=(), unit="C"):
    told = summary(found, figure_rows(found, unit), written, unit)
    return ([line.replace("\u00a0", " ") for line in told.sentences],
            [line.replace("\u00a0", " ") for line in told.listed], told.caution)


def test_of_two_the_outcomes_come_first_and_the_haze_range_before_other_figures():
    sentences, listed, caution = said(
        [firing("clear"), firing("haze", peak_c=791.0, haze_rising_s=2040.0)], ["plan", "layers"])
    assert sentences == [
        "They came out: firing A clear; firing B haze.",
        "Firing B spent 19 min more in the haze range going up and was 9 °C lower at the top.",
        "Not the same: plan and layers."]
    assert not listed
    assert caution == (NO_CAUSE, HAZE_BEGINS)
    assert not [line for line in sentences if "caus" in line]


def test_of_two_with_a_crack_the_cooling_comes_before_the_top():
    sentences, _, caution = said([firing("clear"), firing("crack", peak_c=791.0, first_fall_c_per_h=150.0)])
    assert sentences[1] == "Firing B cooled 70 °C/h faster just below the anneal and was 9 °C lower at the top."
    assert caution == (NO_CAUSE,)


def test_two_alike_have_no_difference_worth_naming():
    sentences, listed, _ = said([firing("clear"), firing("clear")])
    assert sentences == ["Both came out: clear.", "No measured difference is large enough to name."]
    assert not listed


def test_of_two_with_haze_the_top_and_the_haze_range_come_first_also_where_they_are_alike():
    hazy = firing("haze", peak_c=801.0, haze_rising_s=960.0, first_fall_c_per_h=142.0)
    sentences, _, _ = said([firing("haze"), hazy])
    assert sentences == [
        "Both came out: haze.",
        "For haze, look at the haze range and the top first. There the firings are alike: each spent 15 to 16 min in "
        "the haze range going up, 7 min in the haze range coming down, was 800 to 801 °C at the top and spent "
        "12 min within 5 °C of its top. What follows is less likely to have to do with it.",
        "Firing B cooled 62 °C/h faster just below the anneal."]
    differing = said([firing("haze"), replace(hazy, measures=replace(hazy.measures, peak_c=812.0))])[0]
    assert differing[1] == "Firing B was 12 °C higher at the top and cooled 62 °C/h faster just below the anneal."


def test_of_three_with_haze_what_is_asked_first_and_alike_is_said_before_the_cooling_is_listed():
    sentences, listed, _ = said([firing("haze"), firing("haze", first_fall_c_per_h=142.0), firing("haze")])
    assert sentences[0].startswith("For haze, look at the haze range and the top first. There the firings are alike")
    assert listed == ["Cooling, first step below the anneal: 80 °C/h (firing A) to 142 °C/h (firing B)"]


@pytest.mark.parametrize("word", [Word.HAZE, Word.CRACK])
def test_which_figures_come_first_does_not_hang_on_their_words(word):
    """Every deed is said in other words, and the same figures come first."""
    found = [firing("clear"), firing(word, peak_c=780.0, haze_rising_s=1800.0, climb_c_per_h=500.0,
                                     first_fall_c_per_h=300.0)]
    rows = figure_rows(found, "C")
    renamed = [replace(row, figure=replace(row.figure, deed=lambda u, n=n: f"did {n}: {{}}"))
               if row.figure.deed is not None else row for n, row in enumerate(rows)]
    firsts = {Word.HAZE: ["did 3", "did 0"], Word.CRACK: ["did 6", "did 9"]}[word]
    sentence = summary(found, renamed, [], "C").sentences[1]
    assert re.findall(r"did \d+", sentence)[:2] == firsts


def test_no_more_than_four_differences_are_said():
    sentences, _, _ = said([firing(), firing(
        peak_c=780.0, at_top_s=60.0, haze_rising_s=60.0, haze_falling_s=5000.0, climb_c_per_h=500.0,
        first_fall_c_per_h=300.0)])
    assert len(sentences[1].split(",")) == 3  # a, b, c and d


def test_where_no_outcome_was_said_that_is_asked_for():
    assert said([firing(), firing()])[0][0] == "How they came out was not said yet. Each firing’s page asks for it."


def test_of_many_the_figure_that_sets_the_haze_apart_is_said_with_what_chance_does():
    found = [firing("clear"), firing("haze", haze_rising_s=1980.0), firing("as hoped", haze_rising_s=1020.0),
             firing("haze", "bubbles", haze_rising_s=2040.0)]
    sentences, _, _ = said(found)
    assert sentences[0] == ("Each firing with haze (B and D) spent 33 to 34 min in the haze range going up; each of "
                            "the others (A and C) 15 to 17 min.")
    assert sentences[1] == (
        "These are only 4 firings: with so many figures, some differ like this by chance alone.")


def test_of_haze_the_top_comes_before_the_cooling():
    hazy = firing("haze", peak_c=812.0, first_fall_c_per_h=142.0)
    found = [firing("clear", first_fall_c_per_h=84.0), hazy, firing()]
    sentences, _, _ = said(found)
    assert sentences[0] == "The firing with haze (B) was 812 °C at the top; the other (A) 800 °C."
    assert sentences[1] == "The firing with haze (B) cooled 142 °C/h just below the anneal; the other (A) 84 °C/h."
    assert sentences[2] == "These are only 2 firings: with so many figures, some differ like this by chance alone."


def test_of_haze_a_cooling_that_alone_sets_it_apart_is_not_told_as_if_it_mattered():
    found = [firing("clear", first_fall_c_per_h=84.0), firing("haze", first_fall_c_per_h=142.0), firing()]
    sentences, _, _ = said(found)
    assert sentences[0] == ("For haze, look at the haze range and the top first: no figure of them sets B apart. "
                            "What follows is less likely to have to do with it.")
    assert sentences[1].startswith("The firing with haze (B) cooled 142 °C/h")


def test_a_figure_that_overlaps_sets_nothing_apart():
    found = [firing("clear", haze_rising_s=2000.0), firing("haze", haze_rising_s=1980.0), firing("clear")]
    sentences, listed, _ = said(found)
    assert sentences == ["No figure sets the firing with haze (B) clearly apart from the others (A and C)."]
    assert listed == ["Haze range going up, 700 to 760 °C: 15 min (firing C) to 33 min (firing A)"]


def test_two_groups_that_differ_by_less_than_one_probe_can_tell_are_not_set_apart():
    found = [firing("clear", peak_c=800.0), firing("haze", peak_c=798.0), firing("clear", peak_c=803.5)]
    assert said(found)[0][0].startswith("No figure sets")


def test_a_firing_whose_outcome_was_not_said_is_in_no_group():
    found = [firing("clear"), firing("haze", haze_rising_s=1980.0), firing(haze_rising_s=1980.0)]
    assert said(found)[0][0] == ("The firing with haze (B) spent 33 min in the haze range going up; the other (A) "
                                 "15 min.")


def test_a_figure_that_one_firing_does_not_show_is_listed_without_it():
    found = [firing(), firing(climb_c_per_h=None), firing(climb_c_per_h=110.0)]
    assert "Climb from 100 to 540 °C: 110 °C/h (firing C) to 220 °C/h (firing A)" in said(found)[1]
    lonely = [firing(first_fall_c_per_h=None), firing(first_fall_c_per_h=None), firing()]
    assert said(lonely)[1] == ["Cooling, first step below the anneal: 80 °C/h, seen in firing C only"]


def test_a_firing_without_a_reading_is_compared_by_what_is_written():
    found = [firing("clear"), Compared("B", None, None, None, ("haze",)), firing("clear")]
    assert said(found, ["plan"])[0][-1] == "Not the same in all: plan."
