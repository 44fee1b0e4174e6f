from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from queue import SimpleQueue

import pytest

from daemon.firing.events import Alert, AlertChanged, Rank, Sample, Text
from daemon.notify.alert_messages import Channel
from daemon.notify.missing_part import MissingPart
from daemon.notify.other_messages import (
    Post,
    of_missing_probe,
    of_missing_sounder,
    of_probe_found,
    of_sounder_back,
)
from daemon.service.control_socket import Call
from daemon.service.inbox import Inbox
from daemon.service.kiln_alarm import KilnAlarm
from daemon.service.state_file import NO_FIRING, NOT_JUDGED, STARTING, STOPPED, as_stopped
from daemon.store import firing_list, firings, found_parts, outbox, pieces, readings
from daemon.store.database import open_database
from hw.thermocouple import Fault
from simulations.studio.sounder import BenchSounder

PHONE = Post((Channel("phone", Path("phone.url")),))


def _samples(studio):
    return studio.see(lambda db: readings.samples(db, studio.firing().firing_id))


def test_nothing_is_kept_while_no_firing_is_open_and_the_present_is_live(studio):
    studio.run(600)
    assert studio.see(lambda db: firing_list.matching(db)) == []
    assert studio.present() == {
        "written_utc": studio.present()["written_utc"], "kiln": "Back room kiln", "speed": 1.0,
        "now_s": pytest.approx(studio.clock.now_s(), abs=5), "firing_id": None, "firing_title": None,
        "started_utc": None, "t_s": None, "temp_c": 21.0, "fault": None, "cold_junction_c": 25.0,
        "rate_c_per_h": None, "sentence": NO_FIRING, "finished": False, "confidence": None, "part": None,
        "planned_c": None, "offset_c": None, "next": None, "open_at_s": None, "open_margin_s": None,
        "anneal_at_s": None, "anneal_margin_s": None, "anneal_step": None, "learned_firings": None, "peak_c": None,
        "glass": None, "calls": [], "alerts": [], "broke_off": None, "unkept": [], "trouble": [],
        "own_display": False, "other_unit": None, "lost_s": None, "clock_c": None,
    }


def test_second_nought_is_when_the_maker_pressed_start(studio):
    studio.run(100)
    firing = studio.start_firing(title="Reed bowl")
    assert (firing.title, firing.opened_by) == ("Reed bowl", "maker")
    assert firing.start_clock_s == studio.clock.now_s()
    studio.run(17)
    assert [s.t_s for s in _samples(studio)] == [0.0, 5.0, 10.0, 15.0]
    (mark,) = studio.see(lambda db: found_parts.clock_marks(db, firing.firing_id))
    assert (mark.t_s, mark.boot_id, mark.clock_s) == (0, "boot-a", firing.start_clock_s)


def test_a_stored_reading_is_the_median_of_its_five_seconds_and_what_was_judged(studio):
    studio.start_firing()
    base = studio.clock.now_s()
    values = [500.01, 502.0, 499.0, 530.0, 501.0]
    studio.says = lambda s: values[round(s - base - 1) % 5]
    studio.run(5)
    assert _samples(studio)[-1] == Sample(5.0, 501.0, None, 499.0, 530.0)
    assert studio.watch.last == _samples(studio)[-1]


def test_a_blind_probe_is_kept_as_its_fault_and_never_as_a_number(studio):
    studio.start_firing()
    studio.says = lambda s: Fault.OPEN
    studio.run(10)
    assert _samples(studio)[-2:] == [Sample(5.0, None, "open"), Sample(10.0, None, "open")]
    assert (studio.present()["temp_c"], studio.present()["fault"]) == (None, "open")


def test_a_probe_whose_program_fails_is_silent_and_the_watch_goes_on(studio, caplog):
    studio.start_firing()
    studio.says = lambda s: RuntimeError("bus gone")
    studio.run(10)
    studio.says = lambda s: 300.0
    studio.run(5)
    assert _samples(studio)[-3:] == [
        Sample(5.0, None, "silent"), Sample(10.0, None, "silent"), Sample(15.0, 300.0, None, 300.0, 300.0)]
    assert "bus gone" in caplog.text


def test_a_climb_opens_a_firing_by_itself_with_its_beginning_kept(studio):
    studio.run(1200)
    began = studio.clock.now_s()
    studio.says = lambda s: 21.0 + max(0.0, s - began) * 200 / 3600
    studio.run(1200)
    firing = studio.firing()
    assert (firing.opened_by, firing.title, firing.plan_id) == ("climb", "Not named yet", None)
    samples = _samples(studio)
    assert samples[0].t_s == 0.0
    assert [b.t_s - a.t_s for a, b in pairwise(samples)] == [5.0] * (len(samples) - 1)
    at_start = [s for s in samples if firing.start_clock_s + s.t_s <= began]
    assert len(at_start) >= 120  # ten minutes before the climb and more
    assert all(s.temp_c == 21.0 for s in at_start)
    age_s = (studio.clock.utc() - firing.started_utc).total_seconds()
    assert age_s == pytest.approx(studio.clock.now_s() - firing.start_clock_s, abs=1e-3)
    assert studio.see(lambda db: found_parts.gaps(db, firing.firing_id)) == []


def test_the_maker_ends_a_firing_and_another_start_ends_the_open_one(studio):
    first = studio.start_firing(title="One")
    studio.run(60)
    second = studio.start_firing(title="Two", saw_firing_id=first.firing_id)
    ended = studio.see(lambda db: firings.firing(db, first.firing_id))
    assert (ended.ended_by, ended.ended_s) == ("next", 61)
    studio.run(29)
    assert studio.ask("end", firing_id=second.firing_id) == "done"
    ended = studio.see(lambda db: firings.firing(db, second.firing_id))
    assert (ended.ended_by, ended.ended_s) == ("maker", 30)
    assert studio.ask("end", firing_id=second.firing_id) == "refused: firing: none is open. Start one first."
    studio.run(10)
    assert studio.present()["firing_id"] is None


@pytest.mark.slow  # hours of a daemon at work
def test_a_firing_without_a_plan_ends_by_itself_once_the_kiln_is_cold(studio):
    firing = studio.start_firing()
    began = studio.clock.now_s()
    studio.says = lambda s: max(22.0, 140 - (s - began) / 30)  # below 40 °C at second 3000, as slowly as kilns cool
    studio.run(4700)
    assert studio.firing().ended_s is None
    studio.run(200)
    ended = studio.see(lambda db: firings.firing(db, firing.firing_id))
    assert ended.ended_by == "cold"
    assert 3000 + 1800 <= ended.ended_s <= 3000 + 1830


def test_without_a_probe_page_and_message_say_that_nothing_is_watched_and_when_it_is_again(studio):
    why = ["There is no probe, so the kiln is not watched. The bus can't be opened."]
    studio.no_probe = MissingPart(lambda: why, lambda why: of_missing_probe(why, PHONE),
                                  lambda: of_probe_found(PHONE))
    studio.says = lambda s: Fault.SILENT
    studio.start()
    studio.run(55)
    assert studio.present()["sentence"] == "Nothing is watched. Read the kiln's own display."
    assert studio.present()["trouble"] == [{"ailing": "probe", "text": why[0]}]
    assert studio.see(outbox.unsent) == []  # the bus may only be late
    studio.run(600)
    (fate,) = studio.see(outbox.unsent)  # once, not every ten seconds
    assert (fate.channel, fate.title, fate.rank) == ("phone", "Lehrling does not watch the kiln: no probe", "look")
    why.clear()
    studio.run(10)
    assert [fate.title for fate in studio.see(outbox.unsent)][1:] == ["Lehrling watches the kiln again"]
    assert studio.present()["trouble"] == []


def test_a_sounder_that_does_not_work_is_told_by_message_also_while_a_firing_is_open(studio):
    why = ["There is no sounder at the kiln. D17 is busy."]
    studio.no_sounder = MissingPart(lambda: why, lambda why: of_missing_sounder(why, PHONE),
                                    lambda: of_sounder_back(PHONE))
    studio.start()
    studio.start_firing()
    studio.run(120)
    (fate,) = studio.see(outbox.unsent)
    assert fate.title == "The sounder at the kiln does not work"
    why.clear()
    studio.run(10)
    assert studio.see(outbox.unsent)[-1].title == "The sounder at the kiln works again"


def test_seconds_that_were_missed_are_a_gap_and_no_reading_is_invented(studio):
    firing = studio.start_firing()
    studio.run(12)
    studio.miss(60)
    studio.run(20)
    times = [s.t_s for s in _samples(studio)]
    assert times == [0.0, 5.0, 10.0, 15.0, 75.0, 80.0, 85.0, 90.0]
    assert studio.see(lambda db: found_parts.gaps(db, firing.firing_id)) == [
        found_parts.Gap(15, 75, "the computer stood still or was too busy to read")]


def test_a_late_tick_or_two_are_no_gap(studio):
    firing = studio.start_firing()
    studio.run(12)
    studio.miss(3)
    studio.run(20)
    assert [s.t_s for s in _samples(studio)][:4] == [0.0, 5.0, 10.0, 15.0]
    assert studio.see(lambda db: found_parts.gaps(db, firing.firing_id)) == []


@pytest.mark.parametrize("step", [timedelta(hours=1), timedelta(hours=-1), timedelta(days=-20000)])
def test_a_step_of_the_wall_clock_changes_no_second_and_is_marked(studio, step):
    firing = studio.start_firing()
    studio.run(100)
    studio.clock.wall += step
    studio.run(100)
    assert [s.t_s for s in _samples(studio)] == [5.0 * i for i in range(41)]
    marks = studio.see(lambda db: found_parts.clock_marks(db, firing.firing_id))
    assert [mark.t_s for mark in marks] == [0, 105]
    moved = (marks[1].wall_utc - marks[0].wall_utc) - timedelta(seconds=105)
    assert abs(moved - step) < timedelta(seconds=1)


def test_a_clock_that_becomes_set_is_marked(studio):
    studio.clock.is_set = False
    firing = studio.start_firing()
    studio.run(50)
    studio.clock.is_set = True
    studio.run(50)
    marks = studio.see(lambda db: found_parts.clock_marks(db, firing.firing_id))
    assert [(mark.t_s, mark.synchronised) for mark in marks] == [(0, False), (55, True)]


def test_a_request_that_came_too_late_is_not_done(studio):
    studio.start_firing()
    assert studio.ask("end", ttl_s=-1.0) == "expired"
    assert studio.firing().ended_s is None


@pytest.mark.parametrize(("kind", "payload", "told"), [
    ("start", {"title": "Bowl", "plan_id": 77}, "refused: plan: there is no number 77. Choose another one."),
    ("start", {"title": "Bowl", "glass": "jelly"},
     "refused: start glass: 'jelly' is unknown. Known: 33, float, 90, 96, 104."),
    ("start", {"title": "Bowl", "thickness_mm": -1},
     "refused: start thickness_mm: -1 is outside 0.5 to 300 mm."),
    ("acknowledge", {"firing_id": 1}, "refused: firing: none is open. Start one first."),
    ("name", {"firing_id": 5, "title": "x"}, "refused: firing: there is no number 5. Load the page again."),
    ("said", {"what": "sang"}, None),
])
def test_what_cannot_be_done_is_refused_in_words_and_opens_nothing(studio, kind, payload, told):
    outcome = studio.ask(kind, **payload)
    assert outcome.startswith("refused: ")
    assert told is None or outcome == told
    assert studio.see(lambda db: firing_list.matching(db)) == []


def test_pieces_plan_and_load_of_a_start_are_kept_and_unknown_pieces_left_out(studio, slump):
    page = open_database(studio.path)
    bowl = pieces.add_piece(page, name="Reed bowl", glass="96", thickness_mm=9, now_utc=studio.clock.utc())
    page.close()
    firing = studio.start_firing(plan_id=slump, piece_ids=[bowl, 99], glass="96", thickness_mm=9, faces=2)
    assert (firing.plan_id, firing.piece_ids) == (slump, (bowl,))
    assert (firing.glass, firing.thickness_mm, firing.faces, firing.invented) == ("96", 9.0, 2, False)


def test_the_thinner_pieces_of_a_load_are_reckoned_as_slabs_of_their_own(studio, slump):
    page = open_database(studio.path)
    now = studio.clock.utc()
    made = [pieces.add_piece(page, name=name, glass="90", thickness_mm=mm, now_utc=now)
            for name, mm in (("Reed bowl", 12), ("Tile", 6), ("Another tile", 6))]
    page.close()
    studio.says = lambda s: 120.0  # no kiln at rest: of that nothing is reckoned
    studio.start_firing(plan_id=slump, piece_ids=made, glass="90", thickness_mm=12)
    studio.run(600)
    assert [slab["thickness_mm"] for slab in studio.present()["glass"]["slabs"]] == [12.0, 6.0]
    studio.kill()
    studio.run(60)
    assert [slab["thickness_mm"] for slab in studio.present()["glass"]["slabs"]] == [12.0, 6.0]


def test_each_request_is_taken_once(studio):
    studio.start_firing()
    assert studio.ask("said", what="peeked") == "done"
    studio.run(60)
    firing = studio.firing()
    assert [s.what for s in studio.see(lambda db: found_parts.said(db, firing.firing_id))] == ["peeked"]
    assert len(studio.see(lambda db: firing_list.matching(db))) == 1


def test_the_state_file_follows_every_stored_reading_and_is_never_half_written(studio):
    studio.start_firing()
    seen = set()
    for _ in range(30):
        studio.run(1)
        seen.add(studio.present()["t_s"])
    assert seen == {0, 5, 10, 15, 20, 25, 30}


def test_at_bench_speed_the_state_file_is_written_twice_a_wall_second_at_most(studio):
    studio.clock.speed = 300.0
    written = set()
    for _ in range(1200):  # four wall seconds
        studio.run(1)
        written.add(json.loads(studio.service.present_text).get("now_s"))
    assert 7 <= len(written - {None}) <= 9


@pytest.mark.parametrize(("speed", "told"), [(1.0, ["raised", "resounded"]), (300.0, ["raised"])])
def test_a_sped_up_bench_sends_no_reminders(studio, speed, told):
    studio.kill()
    studio.config = replace(studio.config, channels=(Channel("phone", Path("phone.url")),))
    studio.clock.speed = speed
    studio.start()
    studio.start_firing()
    alert = Alert(1, "over-temperature", Rank.WAKE, 0.0, 5.0, Text("w", "m", "d"), woke_s=5.0)
    changes = [AlertChanged(5.0, "raised", alert), AlertChanged(65.0, "resounded", alert)]
    studio.journal.write(studio.watch.live.keeping(changes, studio.clock.utc()))
    assert [message.change for message in studio.see(lambda db: outbox.pending(db, "phone"))] == told


def test_a_run_folder_that_cannot_be_written_stops_nothing(studio, caplog):
    studio.service._run_dir = studio.folder / "gone"
    studio.start_firing()
    studio.run(60)
    assert len(_samples(studio)) == 13
    assert caplog.text.count("The state file can't be written") == 1


def test_a_trial_sounds_for_some_seconds_and_says_why_it_cannot(studio, tmp_path):
    calls = SimpleQueue()
    studio.service._inbox = Inbox(studio.journal, calls)

    def trial():
        call = Call("sounder-trial", {})
        calls.put(call)
        studio.run(1)
        return call.outcome

    assert trial() == "refused: sounder: none is set at the kiln."
    studio.service._bell = KilnAlarm(BenchSounder(tmp_path / "sounder.log"))
    assert trial() == "done"
    studio.run(60)
    heard = (tmp_path / "sounder.log").read_text().splitlines()
    assert heard.count("sound lamp") >= 2
    assert heard[-1] == "silent dark"
    studio.clock.speed = 60.0
    assert "keeps silent" in trial()


def test_a_wake_sounds_at_the_kiln_until_it_is_answered(studio, slump, tmp_path):
    studio.service._bell = KilnAlarm(BenchSounder(tmp_path / "sounder.log"))
    studio.start_firing(plan_id=slump)
    studio.says = lambda s: 672.0  # 32 above the plan's top
    studio.run(200)
    heard = (tmp_path / "sounder.log").read_text().splitlines()
    assert heard.count("sound lamp") > 5
    studio.says = lambda s: 655.0  # a greater step would be a probe whose wires touch, and wake
    studio.run(300)
    assert (tmp_path / "sounder.log").read_text().splitlines()[-1].startswith("silent")


def test_that_no_copy_was_taken_elsewhere_for_long_is_a_trouble_of_its_own(studio):
    studio.service._old_copy = lambda: "Newest copy elsewhere: 9 days ago."
    studio.run(10)
    assert studio.present()["trouble"] == [{"ailing": "copies", "text": "Newest copy elsewhere: 9 days ago."}]


def test_after_a_start_an_open_firing_is_said_to_be_as_its_first_reading_has_it(studio):
    studio.start_firing()
    studio.says = lambda s: 500.0
    studio.run(600)
    before = studio.present()
    assert before["sentence"] not in (STARTING, NO_FIRING)
    studio.kill()
    studio.reboot(1500)
    studio.run(1)  # a tick, and no reading yet: they come every five seconds
    first = studio.present()
    assert (first["sentence"], first["firing_id"]) == (STARTING, before["firing_id"])
    assert (first["rate_c_per_h"], first["planned_c"], first["other_unit"]) == (None, None, None)
    studio.run(5)
    assert studio.present()["sentence"] != STARTING


def test_a_watch_that_stops_leaves_no_sentence_that_reads_like_the_present(studio):
    studio.start_firing()
    studio.run(60)
    before = studio.present()
    ticks = iter([False, False])
    studio.service.run(lambda: next(ticks, True))
    after = studio.present()
    assert after["sentence"] == STOPPED
    assert {**after, "sentence": "", "other_unit": None, "written_utc": "", "now_s": 0, "t_s": 0} == {
        **before, "sentence": "", "other_unit": None, "written_utc": "", "now_s": 0, "t_s": 0}


def test_a_firing_that_is_not_judged_is_still_known_as_such_after_the_stop():
    # The sign of life goes out only while a firing is judged.
    assert as_stopped(json.dumps({"sentence": NOT_JUDGED})) == json.dumps({"sentence": NOT_JUDGED})
