from dataclasses import replace
from pathlib import Path

import pytest

from daemon.firing.events import Alert, AlertChanged, Line, Rank, Text
from daemon.firing.units import NO_SAFETY_DEVICE
from daemon.notify.alert_messages import LOCK_SCREEN_CHARS, Afterwards, Channel, rows_for

PHONE = Channel("phone", Path("phone.url"))
MAIL = Channel("mail", Path("mail.url"), (Rank.LOOK,))
BELL = Channel("bell", Path("bell.url"), (Rank.WAKE,))

TEXT = Text(
    what="Cooling too fast: 140 °C/h, planned 55. Now 498.5 °C.",
    meaning="Stress may stay in 6 mm glass.",
    do="See that lid and vent are shut. Gloves; leave the lid down.",
    time_left_s=1500.0,
)
FAST = Alert(no=1, kind="cooling-too-fast", rank=Rank.WAKE, since_s=20_000.0, raised_s=20_300.0, text=TEXT,
             woke_s=20_300.0, step=4)


def told(change, alert=FAST, t_s=20_300.0, channels=(PHONE, MAIL, BELL), before=None, *, silent=False):
    return rows_for(AlertChanged(t_s, change, alert, before, silent), "Leaf tile, full fuse", channels)


def test_a_wake_goes_to_the_channels_that_asked_for_wakes_in_their_order():
    assert [row.channel for row in told("raised")] == ["phone", "bell"]


def test_a_look_does_not_reach_a_channel_for_wakes():
    rows = told("raised", replace(FAST, rank=Rank.LOOK, woke_s=None))
    assert [row.channel for row in rows] == ["phone", "mail"]
    assert rows[0].title == "Look in the morning: cooling too fast, 140 °C/h, planned 55"


def test_the_lock_screen_shows_rank_measured_and_planned():
    assert told("woke")[0].title == "GET UP: cooling too fast, 140 °C/h, planned 55"


def test_a_figure_with_a_point_does_not_end_the_first_sentence():
    alert = replace(FAST, text=replace(TEXT, what="Fell 4.5 °C in 20.5 s. More follows."))
    assert told("woke", alert)[0].title == "GET UP: fell 4.5 °C in 20.5 s"


def test_a_long_headline_ends_at_a_word_within_the_lock_screen():
    alert = replace(FAST, text=replace(TEXT, what="The kiln climbs " + "further and " * 20 + "further."))
    title = told("woke", alert)[0].title
    assert len(title) <= LOCK_SCREEN_CHARS
    assert title.startswith("GET UP: the kiln climbs")
    assert title.endswith(("further…", "and…"))


def test_a_long_headline_ends_at_a_clause_where_it_can():
    what = "Cooling too fast: 140 °C/h, planned 55 °C/h, now 503 °C, and so on."
    title = told("woke", replace(FAST, text=replace(TEXT, what=what)))[0].title
    assert title == "GET UP: cooling too fast, 140 °C/h, planned 55 °C/h…"


LINES = (Line(150.0, 516.0, 3600.0), Line(80.0, 461.0), Line(None, 40.0))


def clock(t_s):
    return f"{int(t_s // 3600):02d}:{int(t_s % 3600 // 60):02d}"


def test_the_body_has_what_until_when_meaning_acts_lines_and_the_caution_last():
    text = replace(TEXT, before_s=20_300.0 + 1500.0, acts=("Look at the lid.", "Key in these lines:"), lines=LINES,
                   lines_after=1, caution="Gloves.", key_unit="F", keyed_from_c=498.5)
    alert = replace(FAST, text=text)
    row = rows_for(AlertChanged(20_300.0, "woke", alert), "Leaf tile", [PHONE], clock=clock)[0]
    assert row.body.splitlines() == [
        "Cooling too fast: 140 °C/h, planned 55. Now 498.5 °C.",
        "Do this before 06:03.",  # 20,300 + 1500 s
        "Stress may stay in 6 mm glass.",
        "1. Look at the lid.",
        "2. Key in these lines:",
        "   ↑ 270 °F/h to 961 °F, hold 60 min",  # the controller's unit: 516 °C = 960.8 °F
        "   ↓ 144 °F/h to 862 °F",
        "   off",
        "Gloves.",
        "Leaf tile, step 4.",
        NO_SAFETY_DEVICE,
    ]


def test_a_text_of_an_earlier_version_is_sent_whole_and_without_a_clock_in_minutes():
    assert told("woke")[0].body.splitlines() == [
        "Cooling too fast: 140 °C/h, planned 55. Now 498.5 °C.",
        "About 25 min left.",
        "Stress may stay in 6 mm glass.",
        "Do: See that lid and vent are shut. Gloves; leave the lid down.",
        "Leaf tile, full fuse, step 4.",
        NO_SAFETY_DEVICE,
    ]


def test_what_has_no_minute_left_is_to_be_done_now():
    alert = replace(FAST, text=replace(TEXT, time_left_s=0.0, before_s=20_300.0))
    assert "Do this now." in rows_for(AlertChanged(20_300.0, "woke", alert), "Bowl", [PHONE], clock=clock)[0].body


@pytest.mark.parametrize("change", ["acknowledged", "quieted"])
def test_what_the_maker_did_is_not_told_back(change):
    assert told(change) == []


def test_what_is_only_noted_leaves_no_message():
    assert told("raised", replace(FAST, rank=Rank.LOG, woke_s=None)) == []


def test_a_look_that_is_over_is_not_told_but_a_wake_is():
    assert told("over", replace(FAST, rank=Rank.LOOK, woke_s=None)) == []
    now = Afterwards("Falling freely.", nothing_to_do=True)
    row = rows_for(AlertChanged(23_000.0, "over", FAST), "Bowl", [PHONE], now, clock)[0]
    assert row.title == "It is over: cooling too fast"
    assert "It lasted 50 min, from 05:33 to 06:23." in row.body  # 23,000 s − 20,000 s
    assert "It may come back" in row.body
    assert "Now: Falling freely." in row.body
    assert "Do:" not in row.body


def test_a_stopped_kiln_that_is_no_longer_seen_is_not_told_as_over():
    stopped = replace(FAST, kind="firing-stopped")
    calm = Afterwards("Falling freely.", nothing_to_do=True)
    (row,) = rows_for(AlertChanged(23_000.0, "over", stopped), "Bowl", [PHONE], calm, clock)
    assert row.title == "No longer seen: kiln stopped heating"
    assert "It was seen for 50 min, from 05:33 to 06:23. But the power may still be off." in row.body
    assert "over" not in row.body


@pytest.mark.parametrize(("rate_c_per_h", "is_over"), [(-80.0, False), (-3.0, True), (250.0, True), (None, False)])
def test_a_stopped_kiln_that_climbs_or_holds_again_is_told_as_over(rate_c_per_h, is_over):
    now = Afterwards("In the anneal hold at 516 °C.", nothing_to_do=True, rate_c_per_h=rate_c_per_h)
    stopped = AlertChanged(23_000.0, "over", replace(FAST, kind="firing-stopped"))
    (row,) = rows_for(stopped, "Bowl", [PHONE], now, clock)
    assert row.title.startswith("It is over") is is_over
    assert ("The kiln falls no longer." in row.body) is is_over
    assert ("may still be off" in row.body) is not is_over


def test_an_alert_that_is_over_says_how_the_firing_stands_and_claims_no_calm():
    """Power that never came back ends its alert below the annealing range; the glass still needs its anneal."""
    def over(now):
        (row,) = rows_for(AlertChanged(23_000.0, "over", FAST), "Bowl", [BELL], now)
        return row

    mended = over(Afterwards("Cooling to 370 °C, as planned. Nothing to do.", nothing_to_do=True))
    assert mended.title.startswith("It is over: cooling too fast")
    lost = over(Afterwards("Falling. The anneal hold was not whole: leave it closed.", nothing_to_do=False))
    assert lost.title == "Now: the anneal hold was not whole, leave it closed"
    assert "Now: Falling. The anneal hold was not whole: leave it closed." in lost.body.splitlines()
    for row in (mended, lost):
        assert "when you're up" not in row.body


RENAMED = replace(FAST, kind="firing-stopped", named=((21_000.0, "cooling-too-fast"),))


def test_a_sharper_name_alone_makes_no_second_message():
    assert told("sharpened", RENAMED, before=Rank.WAKE) == []


def test_a_sharper_name_that_wakes_is_told():
    rows = told("woke", RENAMED, before=Rank.LOOK)
    assert [row.channel for row in rows] == ["phone", "bell"]


@pytest.mark.parametrize("alert", [FAST, RENAMED])
def test_an_alert_that_rises_from_noted_to_look_is_told_renamed_or_not(alert):
    rows = told("sharpened", replace(alert, rank=Rank.LOOK, woke_s=None), before=Rank.LOG)
    assert [row.channel for row in rows] == ["phone", "mail"]


@pytest.mark.parametrize("change", ["raised", "woke", "over"])
def test_what_was_told_a_moment_ago_only_stands_on_the_page(change):
    assert told(change, silent=True) == []


def test_a_resound_says_that_it_is_still_so_and_since_when():
    row = rows_for(AlertChanged(20_600.0, "resounded", FAST), "Bowl", [PHONE], clock=clock)[0]
    assert row.title.startswith("GET UP: ")
    assert "It is still so, since 05:33, 10 min by now." in row.body.splitlines()


def test_a_consequence_of_a_told_cause_adds_no_look_but_never_hides_a_wake():
    under = replace(FAST, under="firing-stopped")
    assert told("raised", replace(under, rank=Rank.LOOK, woke_s=None)) == []
    assert told("raised", under)


def test_without_channels_nothing_is_written():
    assert told("raised", channels=()) == []


@pytest.mark.parametrize(("left_s", "line"), [
    (None, None), (0.0, "Do this now."), (59.0, "Do this now."),
    (60.0, "About 1 min left."),
])
def test_time_left_is_said_where_it_is_known(left_s, line):
    body = told("woke", replace(FAST, text=replace(TEXT, time_left_s=left_s)))[0].body
    assert line in body if line else "left" not in body.lower()


# --- nobody answers ------------------------------------------------------------------------------

SISTER = Channel("sister", Path("sister.url"), after_min=10.0)


def reached(change, after_s, acknowledged_s=None):
    alert = replace(FAST, acknowledged_s=acknowledged_s)
    return [row.title for row in told(change, alert, alert.woke_s + after_s, (SISTER,))]


def test_a_second_channel_hears_of_a_wake_only_when_nobody_has_answered_for_long_enough():
    assert reached("raised", 0.0) == []
    assert reached("resounded", 300.0) == []
    assert reached("resounded", 600.0) == ["UNANSWERED: cooling too fast, 140 °C/h, planned 55"]
    assert reached("resounded", 900.0)
    assert reached("resounded", 900.0, acknowledged_s=FAST.woke_s + 500.0) == []
    assert reached("resounded", 1500.0, acknowledged_s=FAST.woke_s + 700.0) == []


def test_a_second_channel_that_was_told_hears_that_it_is_over_and_no_other():
    assert reached("over", 900.0) == ["It is over: cooling too fast"]
    assert reached("over", 300.0) == []
    assert reached("over", 900.0, acknowledged_s=FAST.woke_s + 100.0) == []


def test_who_is_woken_for_another_is_told_why():
    body = told("resounded", FAST, FAST.woke_s + 600.0, (SISTER,))[0].body
    assert "Nobody has answered for 10 min: look after the kiln, or wake somebody who can." in body.splitlines()


def test_a_look_never_goes_to_the_second_channel():
    assert told("raised", replace(FAST, rank=Rank.LOOK, woke_s=None), channels=(SISTER,)) == []
