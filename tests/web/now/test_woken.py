"""Woken: what happened and the temperature once, at most three acts, the lines to key in, and buttons that say it."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html import unescape

import pytest

from daemon.firing import example_firing
from daemon.firing.events import AlertChanged, Rank
from daemon.firing.kind import Finding
from daemon.firing.speaker import ISOLATOR_OFF, LEAVE_IT
from daemon.firing.text_json import text_json
from daemon.firing.watches import (
    cooling_too_fast,
    firing_stopped,
    over_temperature,
    restarted,
    sensor_fault,
    sudden_drop,
)
from daemon.settings.config import Config
from daemon.store import alerts

SAME = {"Origin": "http://localhost"}
NOW_S = 24_000.0


def words(kind, number, *, unit="C", key_unit=""):
    """Return what a kind's example says at 24,000 s, in both units, as the daemon writes it."""
    def said(read_in):
        finding = Finding(kind, Rank.WAKE, 0.0, kind.examples[number].facts, 4)
        text = kind.words(finding, example_firing.speaker(read_in, key_unit=key_unit or unit))
        return text if text.time_left_s is None else replace(text, before_s=NOW_S + text.time_left_s)
    return replace(said(unit), other=said("C" if unit == "F" else "F"))


def standing(kind, number=0, text=None, **others):
    return {"no": 1, "kind": kind.name, "rank": "wake", "since_s": 23_000.0, "raised_s": 23_100.0, "woke_s": 23_200.0,
            "cleared_s": None, "acknowledged_s": None, "quiet_until_s": None, "step": 4, "under": None,
            "text": text_json(text or words(kind, number)), **others}


@pytest.fixture
def woken(studio):
    """Return how a page is woken: by an alert that stands, with what else the daemon says."""
    number = studio.fill(until_s=NOW_S)
    client = studio.app().test_client()

    def wake(alert, **others):
        studio.say(number, NOW_S, **{"temp_c": 503.0, "rate_c_per_h": -300.0, "alerts": [alert], **others})
        return client
    wake.number = number
    return wake


def plain(html):
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", html))).replace("\u00a0", " ")


def front(client):
    """Return the front of Now as text, from the summons to the log."""
    return plain(client.get("/").text.split('aria-label="Now"')[1].split('aria-label="The log"')[0])


def test_first_the_summons_and_until_when_then_what_then_the_number_then_the_acts_and_lines(woken):
    said = front(woken(standing(firing_stopped.KIND, 2)))
    order = ["Get up", "Do this before", "The kiln is not heating. Power off?", "503 °C falling 300 °C/h",
             "Read the kiln’s own display.", "Does it fall?", "Stop the controller.",
             "150 °C/h 516 °C hold 60 min", "80 °C/h 461 °C", "406 °C then off", "Dark? No climb? Unsure?",
             "Smoke or a burning smell", "I am up", "I keyed these in", "Show the curve", "Why", "First noticed"]
    found = [said.index(words) for words in order]
    assert found == sorted(found)


def test_the_deadline_is_a_time_of_day_and_no_count_of_minutes(woken):
    # 500 °C falls at 300 °C/h to 370 °C in 26 min; the page's present is 02:00 in Berlin.
    said = front(woken(standing(firing_stopped.KIND, 2)))
    assert "Do this before 02:26." in said
    assert "min left" not in said


def test_a_firing_that_broke_off_is_nowhere_said_to_go_on(woken):
    planned = {"part": {"index": 5, "step": 3, "part": "hold", "start_s": 20_000.0}}
    page = woken(standing(firing_stopped.KIND, 2), **planned, next=None, open_at_s=None,
                 broke_off={"index": 5, "step": 3, "part": "hold", "at_s": 23_000.0}).get("/").text
    log = plain(page.split('aria-label="The log"')[1].split("</section>")[0])
    assert "01:43 Broke off in step 3, hold" in log
    assert "Cool enough to open" not in log
    strip = plain(page.split('data-strip="narrow">')[1].split("</div>")[0])
    assert "01:43 Broke off: asked 516" in strip
    assert "Now:" not in strip
    assert "Next:" not in strip


def test_the_temperature_now_stands_once(woken):
    client = woken(standing(firing_stopped.KIND, 2))
    head = client.get("/").text.split("<main")[1].split('aria-label="The log"')[0]
    unfolded = re.sub(r"<details.*?</details>", "", head, flags=re.S)
    unfolded = re.sub(r'<p class="(?:head|said) unseen">.*?</p>', "", unfolded)
    assert plain(unfolded).count("503 °C") == 1
    assert "500 °C" not in plain(unfolded)


def test_who_reads_fahrenheit_reads_nothing_else_but_the_lines_of_a_celsius_controller(woken):
    client = woken(standing(firing_stopped.KIND, 2, words(firing_stopped.KIND, 2, key_unit="C")))
    client.set_cookie("lehrling-reads", "unit=F&hours=24")
    page = client.get("/").text.split('aria-label="Now"')[1].split('class="drawing"')[0]
    keys = re.search(r'<table class="keys">.*?</table>', page, re.S)[0]
    assert "Lines to key in. In °C, as on your controller" in plain(keys)
    assert "516\u00a0°C" in keys
    assert "°C" not in plain(page.replace(keys, ""))
    assert "937 °F" in plain(page)  # 503 °C


def test_lines_follow_the_controllers_unit_and_say_so_only_where_it_is_the_other(woken):
    for key_unit, line, note in (
            ("F", "270 °F/h 961 °F hold 60 min", True), ("C", "150 °C/h 516 °C hold 60 min", False)):
        said = front(woken(standing(firing_stopped.KIND, 2, words(firing_stopped.KIND, 2, key_unit=key_unit))))
        assert line in said
        assert ("as on your controller" in said) is note


def test_each_line_says_up_or_down_to_the_eye_as_an_arrow_and_to_the_ear_as_a_word(woken):
    page = woken(standing(firing_stopped.KIND, 2)).get("/").text
    ways = re.findall(r'<td class="way">(.*?)</td>', page)
    up, down = ('<span aria-hidden="true">↑</span><span class="unseen">up</span>',
                '<span aria-hidden="true">↓</span><span class="unseen">down</span>')
    assert ways[:4] == [up, down, down, ""]  # from 500 °C to 516, 461 and 406 °C, then off


def test_i_keyed_these_in_sends_the_very_lines_that_stood_there(woken, studio):
    client = woken(standing(firing_stopped.KIND, 2))
    page = client.get("/").text
    lines = json.loads(unescape(re.search(r'name="lines" value="([^"]+)"', page)[1]))
    assert lines == [[150.0, 516.0, 3600.0], [80.0, 461.0, 0.0], [150.0, 406.0, 0.0], [None, 40.0, 0.0]]
    answer = client.post(f"/firings/{woken.number}/keyed-in", headers=SAME, data={"lines": json.dumps(lines)})
    assert answer.status_code == 303
    assert studio.asked() == [("keyed-in", {"firing_id": woken.number, "lines": lines})]


@pytest.mark.parametrize("lines", ["", "{", "[]", "7", '[["a", 5, 1]]', "[[1]]", "null"])
def test_what_is_no_line_is_refused_in_words(woken, studio, lines):
    answer = woken(standing(firing_stopped.KIND, 2)).post(
        f"/firings/{woken.number}/keyed-in", headers=SAME, data={"lines": lines})
    assert answer.status_code == 400
    assert "no lines to key in" in answer.text
    assert studio.asked() == []


def test_whom_to_call_stands_at_the_foot_of_the_screen_that_wakes_and_nowhere_else(woken, studio):
    woken(standing(firing_stopped.KIND, 2))
    client = studio.app(config=Config(whom_to_call="Mira <upstairs>, 0555 01234")).test_client()
    said = front(client)
    assert said.index("Smoke or a burning smell") < said.index("To ask somebody, call: Mira <upstairs>, 0555 01234")
    woken(standing(firing_stopped.KIND, 2, cleared_s=23_900.0))
    for path in ("/", "/reach", f"/firings/{woken.number}"):
        assert "0555 01234" not in client.get(path).text
    assert "To ask somebody" not in front(woken(standing(firing_stopped.KIND, 2)))  # where nobody was named


@pytest.mark.parametrize(("kind", "number", "instead"), [
    (restarted.KIND, 0, LEAVE_IT),  # broke off on the climb: the controller may go on by itself
    (restarted.KIND, 2, ISOLATOR_OFF),  # it would fire the piece anew
    (restarted.KIND, 5, None),  # its first act is the isolator, unless
    (cooling_too_fast.KIND, 0, LEAVE_IT),  # without power it would fall faster
    (firing_stopped.KIND, 2, None),  # its third act says so
    (restarted.KIND, 3, None),  # lines for another day
    (over_temperature.KIND, 0, None),
])
def test_who_cannot_key_in_the_lines_is_told_the_safe_thing(woken, kind, number, instead):
    said = front(woken(standing(kind, number))).replace("’", "'")
    told = "You can't key the lines in?"  # apostrophes were made straight
    assert (told in said) is (instead is not None)
    assert instead is None or f"{told} {instead}" in said


def test_lines_for_another_day_have_no_button_that_they_were_keyed_in(woken):
    said = front(woken(standing(restarted.KIND, 3)))
    assert "150 °C/h 516 °C hold 60 min" in said
    assert "I keyed these in" not in said


def test_beside_a_runaway_which_is_ended_at_the_isolator_there_are_no_lines_to_key_in(woken):
    other = standing(restarted.KIND, 5, no=2, rank="look", woke_s=None)
    said = front(woken(None, alerts=[standing(over_temperature.KIND, 4), other]))
    assert "Kiln reheats, plan only cools, 530 °C" in said
    assert "First the isolator, as said above." in said
    for keyed in ("press start", "hold 60 min", "key in", "I keyed these in"):
        assert keyed not in said
    alone = front(woken(None, alerts=[other]))
    assert "press start" in alone
    assert "First the isolator" not in alone


def test_a_runaway_is_never_quiet(woken):
    said = front(woken(standing(over_temperature.KIND, 0)))
    assert "Quiet for" not in said
    assert "This keeps ringing until Lehrling sees that the danger is past, also while you are up." in said


def test_a_dead_sensor_is_answered_for_the_night_by_one_tap_and_the_page_says_so(woken, studio):
    client = woken(standing(sensor_fault.KIND, 1), temp_c=None)
    said = front(client)
    assert "No temperature for 10 min: Lehrling is blind." in said
    assert "I watch the kiln’s display" in said
    client.post(f"/firings/{woken.number}/said", headers=SAME, data={"what": "own-display"})
    assert studio.asked() == [("said", {"firing_id": woken.number, "what": "own-display"})]
    quiet = woken(standing(sensor_fault.KIND, 1, acknowledged_s=NOW_S, quiet_until_s=NOW_S + 1e8),
                  temp_c=None, own_display=True)
    said = front(quiet)
    assert "in this firing a dead sensor rings no more" in said
    assert "Ring again for the sensor" in said
    assert "Answered at 02:00, quiet for this firing." in said


def test_who_is_up_reads_until_when_it_is_quiet_and_that_worse_rings(woken):
    said = front(woken(standing(firing_stopped.KIND, 2, acknowledged_s=NOW_S - 60, quiet_until_s=NOW_S + 1080)))
    assert "Answered at 01:59, quiet until 02:18, or until it gets worse." in said
    assert "I am up" not in said


def test_what_was_not_seen_lately_is_not_said_as_of_now(woken):
    said = front(woken(standing(firing_stopped.KIND, 2, seen_s=NOW_S - 120)))
    assert "Not seen since 01:58: it may be over." in said


def test_woken_and_already_over_says_what_it_was_since_when_and_what_to_do_now(woken):
    said = front(woken(standing(firing_stopped.KIND, 2, cleared_s=NOW_S - 600)))
    assert "No longer seen: kiln stopped heating, from 01:43 to 01:50" in said
    assert "You were woken for this. It may come back." in said
    assert "Is it far above its plan, steady or climbing? Switch off at the isolator, the kiln’s main switch." in said
    assert "Is it near its plan there? Sleep." not in said  # there are lines to key in
    assert "Look once at the kiln before you sleep" in said
    assert "I keyed these in" in said
    assert "You were woken" not in front(woken(standing(firing_stopped.KIND, 2, cleared_s=NOW_S - 3700)))


def test_where_nothing_is_to_be_keyed_in_a_kiln_near_its_plan_lets_one_sleep(woken):
    said = front(woken(standing(sudden_drop.KIND, 1, cleared_s=NOW_S - 600)))
    assert ("Is it near its plan there? Sleep. Is it far above its plan, steady or climbing? "
            "Switch off at the isolator") in said


def test_everything_works_by_forms_without_a_script(woken):
    page = woken(standing(firing_stopped.KIND, 2)).get("/").text
    for words_of in ("I am up", "I keyed these in"):
        button = page.index(words_of)
        assert page.rfind("<form", 0, button) > page.rfind("</form>", 0, button)
    assert '<a class="button curve" href="#curve">' in page
    assert 'id="curve"' in page


def test_the_record_keeps_what_was_said_when_and_says_that_it_was_then(studio):
    number = studio.fill(until_s=NOW_S)
    first = words(firing_stopped.KIND, 2)
    alert = replace(studio.alert(NOW_S), kind="firing-stopped", text=first)
    later = replace(alert, text=replace(first, what="Kiln not heating (power off?), 430 °C and falling."))
    for t_s, change, told in ((23_700.0, "woke", alert), (23_900.0, "resounded", later)):
        step = AlertChanged(t_s, change, told)
        studio.store(lambda db, step=step: alerts.record(db, number, step, studio.clock.wall))
    kept, = studio.store(lambda db: alerts.alerts(db, number))
    assert kept.text == first  # lines and acts too
    page = plain(studio.app().test_client().get(f"/firings/{number}").text.split('id="log"')[1])
    assert "Said at 01:55: Kiln not heating (power off?), 500 °C and falling." in page
    assert "Said again 1 time 01:58: Kiln not heating (power off?), 430 °C and falling." in page
    assert "Do this before" not in page


def test_while_blind_no_plan_of_the_follower_is_shown_but_where_the_plan_is_by_its_clock(woken):
    blind = standing(sensor_fault.KIND, 1)
    nothing = {"temp_c": None, "rate_c_per_h": None, "planned_c": None, "next": None, "part": None}
    said = front(woken(None, alerts=[], **nothing, clock_c=[516.0, 516.0]))
    assert "by its clock the plan is at about 516 °C" in said
    said = front(woken(blind, **nothing, clock_c=[516.0, 516.0]))
    assert said.count("By its clock the plan is at about 516 °C now.") == 1  # the act says it
    assert "by its clock the plan" not in said
    wide = front(woken(None, alerts=[], **nothing, clock_c=[516.0, 605.0]))
    assert "by its clock the plan is at 516 to 605 °C" in wide
    for unknown in (None, [], [516.0], ["?", 516.0], 516.0):
        assert "– °C" in front(woken(blind, **nothing, clock_c=unknown))
        assert "by its clock the plan is at 5" not in front(woken(None, alerts=[], **nothing, clock_c=unknown))


def test_while_blind_strip_and_table_end_where_the_readings_did_and_say_nothing_of_what_comes(woken):
    def strip_and_table(client):
        strip = client.get("/").text.split('data-strip="narrow">')[1].split("</div>")[0]
        table = client.get(f"/firings/{woken.number}").text.split('<table class="parts">')[1].split("</table>")[0]
        return plain(strip), plain(table)

    strip, table = strip_and_table(woken(
        standing(sensor_fault.KIND, 1), temp_c=None, planned_c=None, next=None, part=None, lost_s=18_000.0))
    assert "Now:" not in strip
    assert "Next:" not in strip
    assert "step 1, ramp" in table
    assert "so far" not in table
    assert "to come" not in table
    strip, table = strip_and_table(woken(None, alerts=[]))
    assert "Next:" in strip
    assert "to come" in table
