"""A firing goes on after the daemon or the computer was off, with the true length of the gap."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from daemon.firing.events import AlertChanged, PartsRevised
from daemon.firing.setup import Reads
from daemon.lifecycle.judge import Judge
from daemon.lifecycle.known_gaps import OFF_UNKNOWN
from daemon.lifecycle.open_firing import STOOD_STILL
from daemon.lifecycle.resume import NOT_RUNNING, OFF, entries
from daemon.lifecycle.setup_from_store import known_setup
from daemon.notify.alert_messages import Channel
from daemon.store import alerts, firings, found_parts, outbox, readings
from hw.thermocouple import Fault


def _samples(studio):
    return studio.see(lambda db: readings.samples(db, studio.firing().firing_id))


def _gaps(studio):
    return studio.see(lambda db: found_parts.gaps(db, studio.firing().firing_id))


def test_a_restart_within_a_boot_goes_on_with_a_gap_of_the_true_length(studio):
    firing = studio.start_firing()
    studio.run(61)
    studio.kill()
    studio.clock.pass_s(600.4)
    studio.start()
    studio.run(30)
    assert studio.firing() == firing
    times = [s.t_s for s in _samples(studio)]
    assert times[12:14] == [60.0, 665.0]
    assert times[13:] == [665.0 + 5 * i for i in range(len(times) - 13)]
    assert _gaps(studio) == [found_parts.Gap(60, 665, NOT_RUNNING)]
    assert studio.present()["firing_id"] == firing.firing_id
    assert studio.present()["t_s"] == pytest.approx(studio.clock.now_s() - firing.start_clock_s, abs=5)


def test_each_gap_has_its_own_reason(studio):
    studio.start_firing()
    studio.run(60)
    studio.kill()
    studio.clock.pass_s(60)
    studio.start()
    studio.run(30)
    studio.miss(60)
    studio.run(30)
    assert [gap.reason for gap in _gaps(studio)] == [NOT_RUNNING, STOOD_STILL]


def test_a_wall_clock_that_jumped_meanwhile_does_not_change_the_gap_within_a_boot(studio):
    studio.start_firing()
    studio.run(60)
    studio.kill()
    studio.clock.pass_s(100)
    studio.clock.wall -= timedelta(days=20000)
    studio.start()
    studio.run(10)
    assert [(gap.from_s, gap.to_s) for gap in _gaps(studio)] == [(60, 165)]


def test_a_short_restart_is_no_gap(studio):
    studio.start_firing()
    studio.run(60)
    studio.kill()
    studio.clock.pass_s(8)
    studio.start()
    studio.run(20)
    assert _gaps(studio) == []
    assert [s.t_s for s in _samples(studio)][-3:] == [75.0, 80.0, 85.0]


def test_a_reboot_with_a_set_clock_goes_on_by_wall_time(studio):
    studio.start_firing()
    studio.run(3600)
    studio.kill()
    studio.reboot(2400)
    studio.run(20)
    (gap,) = _gaps(studio)
    assert gap.reason == OFF
    assert gap.from_s == 3600
    assert 2400 <= gap.to_s - gap.from_s <= 2406


def test_a_second_restart_after_a_reboot_goes_on_by_the_new_boot(studio):
    studio.start_firing()
    studio.run(600)
    studio.kill()
    studio.reboot(2400)
    studio.run(2)  # dies before a reading was kept
    studio.kill()
    studio.clock.pass_s(30)
    studio.clock.wall += timedelta(hours=5)
    studio.start()
    studio.run(20)
    (gap,) = _gaps(studio)
    assert 2430 <= gap.to_s - gap.from_s <= 2440


def test_a_reboot_with_an_unset_clock_says_at_least_how_long_and_that_it_may_be_longer(studio):
    studio.start_firing()
    studio.run(3600)
    studio.kill()
    studio.reboot(2400, wall=datetime(1970, 1, 1, 0, 0, 30, tzinfo=UTC))
    studio.run(20)
    (gap,) = _gaps(studio)
    assert gap.reason == OFF_UNKNOWN
    assert 20 <= gap.to_s - gap.from_s <= 30  # the clock of the new boot stood at 20.5 s
    marks = studio.see(lambda db: found_parts.clock_marks(db, studio.firing().firing_id))
    assert (marks[-1].boot_id, marks[-1].synchronised) == ("boot-b", False)


def test_an_unset_clock_that_went_on_a_little_is_the_least_length(studio):
    studio.start_firing()
    studio.run(3600)
    studio.kill()
    came_up = studio.clock.utc() + timedelta(seconds=900)  # saved a while before it was set again
    studio.reboot(2400, wall=came_up)
    studio.run(20)
    (gap,) = _gaps(studio)
    assert gap.reason == OFF_UNKNOWN
    assert 900 <= gap.to_s - gap.from_s <= 910


def test_a_firing_left_open_for_days_ends_with_its_last_reading(studio):
    firing = studio.start_firing()
    studio.run(600)
    studio.kill()
    studio.reboot(80 * 3600)
    studio.run(20)
    ended = studio.see(lambda db: firings.firing(db, firing.firing_id))
    assert (ended.ended_s, ended.ended_by) == (600, "cold")
    assert studio.present()["firing_id"] is None


def test_replaying_a_stored_live_firing_gives_the_stored_events(told_studio):
    studio, row = told_studio, told_studio.firing()

    def replayed(db):
        judge = Judge(known_setup(db, row, Reads("C")))
        return [event for entry in entries(db, row.firing_id) for event in judge.take(entry)]

    events = studio.see(replayed)
    changes = [(e.alert.no, e.t_s, e.change, e.alert.kind, e.alert.rank, e.alert.text.what)
               for e in events if isinstance(e, AlertChanged)]
    stored = studio.see(lambda db: alerts.transitions(db, row.firing_id))
    assert changes == [(t.no, t.t_s, t.change, t.kind, t.rank, t.what) for t in stored]
    assert ("cooling-too-fast", "wake") in {(t.kind, t.rank) for t in stored}
    parts = [event.parts for event in events if isinstance(event, PartsRevised)][-1]
    assert list(parts) == studio.see(lambda db: found_parts.parts(db, row.firing_id))
    assert len(parts) >= 4
    milestones = [e for e in events if not isinstance(e, AlertChanged | PartsRevised)]
    assert milestones == studio.see(lambda db: found_parts.milestones(db, row.firing_id))


def test_a_restarted_watch_stands_where_it_stood_and_tells_nothing_twice(slumped):
    studio, _ = slumped(cooling_c_per_h=180.0, past_anneal_s=2400)
    row = studio.firing()
    assert studio.ask("acknowledge", firing_id=row.firing_id, alert_no=1) == "done"
    studio.run(4)
    stored = studio.see(lambda db: alerts.transitions(db, row.firing_id))
    before = studio.watch.live.judge.standing()
    assert "acknowledged" in {t.change for t in stored}
    studio.kill()
    studio.clock.pass_s(3)
    studio.start()
    assert studio.watch.live.judge.standing() == before
    assert studio.see(lambda db: alerts.transitions(db, row.firing_id)) == stored
    studio.run(600)
    later = studio.see(lambda db: alerts.transitions(db, row.firing_id))
    assert later[:len(stored)] == stored
    assert [t.change for t in later].count("raised") == len({t.no for t in later})


def test_messages_stand_in_the_outbox_before_anything_could_be_sent(told_studio):
    waiting = told_studio.see(lambda db: outbox.pending(db, "phone"))
    told = [t for t in told_studio.see(lambda db: alerts.transitions(db, told_studio.firing().firing_id))
            if t.change in ("raised", "sharpened", "woke", "resounded") and t.rank != "log"]
    assert waiting
    assert [message.rank for message in waiting] == [t.rank for t in told]


def test_what_was_said_in_the_second_of_a_reading_is_replayed_in_the_order_it_was_taken(studio):
    studio.start_firing()
    studio.run(4)
    assert studio.ask("said", what="vented") == "done"  # second 5, the second of a stored reading
    taken = studio.see(lambda db: entries(db, studio.firing().firing_id))
    assert [(type(e).__name__, e.t_s) for e in taken] == [("Sample", 0.0), ("Said", 5.0), ("Sample", 5.0)]


def test_a_missed_slot_is_kept_before_what_was_said_after_it(studio):
    studio.start_firing()
    studio.run(2)
    judge, judged = studio.watch.live.judge, []
    take = judge.take
    judge.take = lambda entry: judged.append(entry) or take(entry)
    studio.miss(40)
    assert studio.ask("said", what="vented") == "done"
    assert [(type(e).__name__, e.t_s) for e in judged] == [("Sample", 5.0), ("Said", 43.0)]
    assert studio.see(lambda db: entries(db, studio.firing().firing_id))[1:] == judged


def test_blindness_over_a_restart_stays_blindness(studio):
    studio.start_firing()
    studio.says = lambda s: Fault.SILENT
    studio.run(60)
    studio.kill()
    studio.clock.pass_s(30)
    studio.start()
    studio.run(30)
    assert {s.fault for s in _samples(studio)[1:]} == {"silent"}


# --- telling of it -------------------------------------------------------------------------------


def _titles(studio):
    return studio.see(lambda db: [row["title"] for row in db.query("SELECT title FROM outbox ORDER BY outbox_id")])


@pytest.mark.parametrize(("away_s", "told"), [
    (60.0, []), (2700.0, ["Lehrling is back after 45 min without a reading"])])
def test_a_return_after_an_outage_is_told_with_the_gap_and_a_restart_is_not(studio, away_s, told):
    studio.config = replace(studio.config, channels=(Channel("phone", Path("phone.url")),))
    studio.kill()
    studio.start()
    studio.start_firing()
    studio.run(61)
    studio.kill()
    studio.clock.pass_s(away_s)
    studio.start()
    studio.run(5)
    assert [title for title in _titles(studio) if title.startswith("Lehrling is back")] == told


UNSET = datetime(1970, 1, 1, 0, 2, tzinfo=UTC)
"""What a computer without a clock chip takes for now as it starts."""


def _begun_unset(studio):
    """Let a firing begin before the clock is set, in truth at EVENING; return how long it has run when it is."""
    studio.clock.wall, studio.clock.is_set = UNSET, False
    studio.start_firing()
    studio.run(900)
    assert studio.firing().started_utc.year == 1970
    return 900


def test_a_firing_that_began_before_the_clock_was_set_is_dated_by_the_first_clock_that_is(studio):
    ran_s = _begun_unset(studio)
    now = datetime(2026, 3, 1, 21, 15, tzinfo=UTC)
    studio.clock.wall, studio.clock.is_set = now, True
    studio.run(30)
    began = studio.firing().started_utc
    assert abs((began - (now - timedelta(seconds=ran_s))).total_seconds()) <= 5
    studio.clock.wall += timedelta(hours=1)  # a clock that is moved later tells nothing new
    studio.run(30)
    assert studio.firing().started_utc == began


def test_so_it_is_after_a_restart_and_the_second_clock_that_is_set_changes_nothing(studio):
    _begun_unset(studio)
    studio.kill()
    studio.start()
    studio.clock.wall, studio.clock.is_set = datetime(2026, 3, 1, 21, 15, tzinfo=UTC), True
    studio.run(30)
    began = studio.firing().started_utc
    assert began.year == 2026
    studio.kill()
    studio.clock.wall += timedelta(minutes=20)
    studio.start()
    studio.run(30)
    assert studio.firing().started_utc == began


def test_after_a_reboot_only_a_date_that_is_wrong_by_more_than_a_day_is_replaced(studio):
    studio.clock.is_set = False
    studio.start_firing()
    studio.run(600)
    began = studio.firing().started_utc
    studio.kill()
    studio.reboot(300, wall=studio.clock.wall)
    studio.clock.wall, studio.clock.is_set = began + timedelta(hours=2), True  # how long it was off is not known
    studio.run(30)
    assert studio.firing().started_utc == began
