"""The latest start, against a search over starts, and in words."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from daemon.firing.energy.thermal import Thermal
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.setup import Setup
from daemon.firing.units import Units
from daemon.glass.materials import FAMILIES
from daemon.kiln.foresight import foresee
from daemon.kiln.kiln_model import Difference, KilnModel, PartKind
from daemon.kiln.planning.beside import Tariff, brief, not_changed, rows_beside, shown
from daemon.kiln.planning.latest_start import (
    Done,
    DoneBy,
    latest_json,
    latest_lines,
    latest_start,
    moment_of,
    new_plan_lines,
)
from daemon.kiln.planning.outlook import outlook
from daemon.kiln.planning.what_if import Changes, Kiln, columns

GLASS = FAMILIES["90"]
BERLIN = ZoneInfo("Europe/Berlin")
KILN = KilnModel(Thermal(1 / 2600, 1 / 7000, 1 / 12_000, 1 / 25_000), 0.4, True, 0.0, 0.0, {
    PartKind.CLIMB: Difference(0.0, 0.02, 60.0), PartKind.FALL: Difference(0.0, 0.0, 300.0),
    PartKind.LAST_FALL: Difference(0.0, 0.1, 900.0)}, 4)
FUSE = Plan("Fuse, invented", "C", (
    Step(200, 670, 1800), Step(240, 800, 600, "top"), Step(None, 516, 3600, "anneal"), Step(80, 406), Step(None, 40)))
SETUP = Setup(FUSE, GLASS, 6.0, 1)
EVENING, NIGHT_OF_MARCH = datetime(2026, 6, 1, 18, 12, 40, tzinfo=BERLIN), datetime(2026, 3, 28, 19, tzinfo=BERLIN)
NIGHT_OF_OCTOBER = datetime(2026, 10, 24, 19, tzinfo=BERLIN)


def forecast(from_c=20.0, plan=FUSE):
    planned = planned_parts(plan, from_c)
    return outlook(replace(SETUP, plan=plan), planned, foresee(planned, KILN, from_c))


FOUND = forecast()


def searched(done, at, now, found):
    """Return the latest start by trying each minute of three days, from the last one back, deadline by deadline."""
    utc = ZoneInfo("UTC")
    moment, first = moment_of(done, found), now.replace(second=0).astimezone(utc)
    for days in range(1 + 3):
        by = datetime.combine(now.date() + timedelta(days=days), at, BERLIN).astimezone(utc)
        if by <= now.astimezone(utc):
            continue
        for minute in range(3 * 1440, -1, -1):
            start = first + timedelta(minutes=minute)
            if start + timedelta(seconds=moment.t_s + moment.margin_s) <= by:
                return start, by
    raise AssertionError("no start in three days")


@pytest.mark.parametrize("done", list(Done))
@pytest.mark.parametrize("now", [EVENING, NIGHT_OF_MARCH, NIGHT_OF_OCTOBER])
@pytest.mark.parametrize("at", [time(8), time(13), time(18, 30), time(0, 15)])
def test_it_is_the_latest_of_all_starts(done, now, at):
    latest = latest_start(DoneBy(done, at, now), FOUND)
    start, by = searched(done, at, now, FOUND)
    assert [one.timestamp() for one in (latest.start, latest.by)] == [start.timestamp(), by.timestamp()]
    assert f"{latest.by:%H:%M}" == f"{at:%H:%M}"


def test_in_the_night_of_a_change_it_is_an_hour_else():
    shown = [f"{latest_start(DoneBy(Done.HOLD, time(8), now), FOUND).start:%H:%M}"
             for now in (EVENING, NIGHT_OF_MARCH, NIGHT_OF_OCTOBER)]
    usual, march, october = (60 * int(one[:2]) + int(one[3:]) for one in shown)
    assert (usual - march, october - usual) == (60, 60)


def test_a_warm_kiln_may_start_later():
    cold, warm = (latest_start(DoneBy(Done.HOLD, time(8), EVENING), forecast(from_c)) for from_c in (20.0, 200.0))
    assert warm.start - cold.start > timedelta(minutes=30)


def test_too_late_for_the_next_time_it_names_the_one_after():
    late = EVENING.replace(hour=23)
    asked = DoneBy(Done.HOLD, time(4), late)
    latest = latest_start(asked, FOUND)
    assert f"{latest.too_soon:%d %H:%M}, {latest.by:%d %H:%M}" == "02 04:00, 03 04:00"
    first, second, third, *_ = latest_lines(asked, latest, FOUND, GLASS, Units("C"))
    assert first.startswith("It is too late for 04:00 tomorrow. Start at ")
    assert first.endswith(" tomorrow at the latest.")
    assert second.startswith("In nine of ten nights the anneal hold is over by 04:00 on Wednesday; most likely at ")
    assert third.startswith("If you start now, the anneal hold is over at about 05:")


def test_its_words_say_how_sure_it_is_and_what_goes_on():
    asked = DoneBy(Done.HOLD, time(8), EVENING)
    latest = latest_start(asked, FOUND)
    said = " ".join(latest_lines(asked, latest, FOUND, GLASS, Units("C")))
    assert said.startswith(f"Start at {latest.start:%H:%M} tomorrow at the latest. In nine of ten nights ")
    assert "the anneal hold is over by 08:00 tomorrow; most likely at about 07:" in said
    assert "in eight of ten)" in said
    assert "part of the anneal, so leave the kiln on" in said
    assert "Leave a hot kiln alone only as its manual and the rules where you live allow." in said
    said = " ".join(latest_lines(asked._replace(done=Done.OPEN), latest, FOUND, GLASS, Units("F")))
    assert "cool enough to open, 104 °F at the thermocouple" in said
    assert "part of the anneal" not in said


def test_while_a_firing_runs_nothing_is_said_of_a_start_now():
    asked = Changes(done_by=DoneBy(Done.HOLD, time(4), EVENING.replace(hour=23)))
    for is_firing in (False, True):
        (found,) = columns(FUSE, SETUP, Kiln(KILN, 20.0, 20.0, is_firing=is_firing), asked)
        said = " ".join(latest_lines(asked.done_by, found.latest, found.outlook, GLASS, Units("C")))
        assert ("If you start now" in said) is not is_firing
        assert ("A firing is running in this kiln now." in said) is is_firing


@pytest.mark.parametrize(("firings", "is_rough"), [(1, True), (2, True), (3, False)])
def test_from_fewer_than_three_firings_no_share_of_nights_is_said(firings, is_rough):
    asked = Changes(longer_s=[600.0], done_by=DoneBy(Done.HOLD, time(4), EVENING.replace(hour=23)))
    found = columns(FUSE, SETUP, Kiln(KILN._replace(firings=firings), 20.0, 20.0), asked)
    said = " ".join(latest_lines(asked.done_by, found[0].latest, found[0].outlook, GLASS, Units("C")))
    said += " ".join(row.what for row in rows_beside(found, GLASS, Units("C"), Tariff()))
    assert any(share in said for share in ("nine of ten", "9 of 10", "eight of ten")) is not is_rough
    assert ("After 3 firings it can say how sure the time is; until then start earlier." in said) is is_rough
    assert (latest_json(asked.done_by, found[0].latest)["nights"] is None) is is_rough
    assert "If you start now, the anneal hold is over at about 05:" in said


@pytest.mark.parametrize(("done", "steps", "told"), [
    (Done.HOLD, (Step(200, 800, 600), Step(None, 40)), "no step of this plan is an anneal hold"),
    (Done.ANNEALED, (Step(200, 800, 600), Step(300, 516, 3600, "anneal"), Step(60, 500)), None),
])
def test_where_there_is_none_it_says_why(done, steps, told):
    found = forecast(plan=Plan("a", "C", steps))
    asked = DoneBy(done, time(8), EVENING)
    latest = latest_start(asked, found)
    assert (latest is None) == (told is not None)
    if told:
        (said,) = latest_lines(asked, None, found, GLASS, Units("C"))
        assert told in said
        assert latest_json(asked, None)["start"] is None


def test_a_target_that_may_not_be_reached_leaves_none():
    asked = DoneBy(Done.HOLD, time(8), EVENING)
    assert latest_start(asked, FOUND, is_out_of_reach=True) is None
    (said,) = latest_lines(asked, None, FOUND, GLASS, Units("C"))
    assert "may not reach a target" in said


def test_the_plan_begins_at_its_latest_start_and_each_change_has_its_own():
    asked = Changes(longer_s=[1800.0], done_by=DoneBy(Done.HOLD, time(8), EVENING))
    written, longer = columns(FUSE, SETUP, Kiln(KILN, 20.0, 20.0), asked)
    assert written.clock.starts_iso == longer.clock.starts_iso == written.latest.start.isoformat()
    earlier = written.latest.start - longer.latest.start
    assert timedelta(minutes=30) <= earlier < timedelta(minutes=40)  # warmer walls let the kiln fall more slowly
    noon = EVENING.replace(hour=12)
    started, _ = columns(FUSE, SETUP, Kiln(KILN, 20.0, 20.0), asked._replace(starts=[noon]))
    assert started.clock.starts_iso == noon.isoformat()


def test_its_json_is_the_same_in_plain_values():
    asked = DoneBy(Done.OPEN, time(8), NIGHT_OF_MARCH)
    latest = latest_start(asked, FOUND)
    found = json.loads(json.dumps(latest_json(asked, latest)))
    likely, (low, high) = (datetime.fromisoformat(found["likely"]), map(datetime.fromisoformat, found["between"]))
    assert datetime.fromisoformat(found["start"]) == latest.start
    assert low < likely < high <= datetime.fromisoformat(found["by"])
    assert (found["done"], found["nights"]) == ("open", 0.9)


def test_a_change_that_is_too_late_says_so_where_the_plan_as_written_is_not():
    late = EVENING.replace(hour=22)
    written = latest_start(DoneBy(Done.HOLD, time(8), late), FOUND)
    now = written.start - timedelta(minutes=5)  # the plan is early enough by five minutes, ten minutes more are not
    asked = Changes(longer_s=[600.0], done_by=DoneBy(Done.HOLD, time(8), now))
    both = columns(FUSE, SETUP, Kiln(KILN, 20.0, 20.0), asked)
    assert brief(both[0]) == f"start by {written.start:%a %H:%M}"
    assert brief(both[1]) == "too late for Tue 08:00"
    row = next(row for row in rows_beside(both, GLASS, Units("C"), Tariff()) if row.what.startswith("latest start"))
    assert row.what == "latest start, for Tue 08:00"
    assert row.values[0] == f"{written.start:%a %H:%M}"
    assert row.values[1].startswith("too late; for Wed 08:00: Wed 01:")


def test_where_the_clock_shows_an_hour_twice_each_time_in_it_has_its_zone():
    # On 25 October 2026 03:00 CEST becomes 02:00 CET (Directive 2000/84/EC).
    asked = DoneBy(Done.HOLD, time(2, 30), datetime(2026, 10, 24, 15, tzinfo=BERLIN))
    said = " ".join(latest_lines(asked, latest_start(asked, FOUND), FOUND, GLASS, Units("C")))
    twice = re.findall(r"\b02:\d\d(?: CES?T)?", said)
    assert len(twice) > 2
    assert all(one.endswith("T") for one in twice), twice
    assert any(one.endswith("CET") for one in twice)


def test_where_the_clock_skips_the_time_that_was_asked_it_says_which_it_takes():
    # On 29 March 2026 02:00 CET becomes 03:00 CEST.
    asked = DoneBy(Done.HOLD, time(2, 30), datetime(2026, 3, 28, 15, tzinfo=BERLIN))
    said = " ".join(latest_lines(asked, latest_start(asked, FOUND), FOUND, GLASS, Units("C")))
    assert "The clock goes forward that night and skips 02:30, so 01:30 is taken, to be in time." in said
    asked = asked._replace(at=time(8))
    assert "skips" not in " ".join(latest_lines(asked, latest_start(asked, FOUND), FOUND, GLASS, Units("C")))


def test_beside_a_latest_start_it_says_which_start_the_other_times_are_of():
    asked = Changes([EVENING.replace(hour=21)], hotter_k=[10.0], done_by=DoneBy(Done.HOLD, time(8), EVENING))
    rows = rows_beside(columns(FUSE, SETUP, Kiln(KILN, 20.0, 20.0), asked), GLASS, Units("C"), Tariff())
    named = [row.what for row in shown(rows)]
    at = named.index("if started at")
    assert rows[at].values == ("Mon 21:12", "Mon 21:12")
    assert (named[at - 1], named[at + 1]) == ("latest start, for Tue 08:00", "anneal hold begins")
    assert "if started at" not in not_changed(rows)
    rows = rows_beside(columns(FUSE, SETUP, Kiln(KILN, 20.0, 20.0), asked._replace(done_by=None)), GLASS, Units("C"),
                       Tariff())
    assert "if started at" not in [row.what for row in shown(rows)]


def test_the_new_plan_is_too_late_only_where_the_written_one_is_not():
    asked = DoneBy(Done.HOLD, time(8), EVENING)
    written = latest_start(asked, FOUND)
    after = written._replace(by=written.by + timedelta(days=1), start=written.start + timedelta(days=1),
                             too_soon=written.by)
    assert list(new_plan_lines(asked, after, after)) == [
        f"With the new plan, start at {after.start:%H:%M} on Wednesday at the latest."]
    assert list(new_plan_lines(asked, written, after)) == [
        "With the new plan it is too late for 08:00 tomorrow. For 08:00 on Wednesday, start at "
        f"{after.start:%H:%M} on Wednesday at the latest."]
    assert list(new_plan_lines(None, None, None)) == []


def test_a_day_is_said_once_and_today_is_no_weekday():
    asked = DoneBy(Done.HOLD, time(0), EVENING.replace(hour=8))
    latest = latest_start(asked, FOUND)
    assert f"{latest.by:%a %H:%M}" == "Tue 00:00"
    _, said, *_ = latest_lines(asked, latest, FOUND, GLASS, Units("C"))
    assert re.fullmatch(r"In nine of ten nights the anneal hold is over by midnight between Monday and Tuesday; "
                        r"most likely at about 23:\d\d today \(23:\d\d to 23:59 in eight of ten\)\.", said), said
