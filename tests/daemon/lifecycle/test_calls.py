"""A call goes the whole way: asked of the daemon, kept, made, told like a wake, and made once over a restart."""

from __future__ import annotations

from daemon.store import found_parts


def test_a_call_is_kept_and_stands_in_the_present(studio, slump):
    number = studio.start_firing().firing_id
    assert studio.ask("said", firing_id=number, what="call", temp_c=640.0) == "done"
    assert studio.present()["calls"] == [{"temp_c": 640.0, "rising": True}]
    [kept] = studio.see(lambda db: found_parts.said(db, number))
    assert (kept.what.value, kept.temp_c) == ("call", 640.0)
    assert "missing" in studio.ask("said", firing_id=number, what="call")
    assert studio.ask("said", firing_id=number, what="call-off", temp_c=640.0) == "done"
    assert studio.present()["calls"] == []


def test_a_call_that_waits_outlives_a_kill_and_is_made_once(studio, slump):
    began_s = studio.clock.now_s()
    number = studio.start_firing(plan_id=slump).firing_id
    studio.says = lambda clock_s: 21.0 + (clock_s - began_s) / 9.0  # 400 °C/h
    assert studio.ask("said", firing_id=number, what="call", temp_c=120.0) == "done"
    studio.run(300)
    studio.kill()
    studio.start()
    assert studio.present()["calls"] == [{"temp_c": 120.0, "rising": True}]
    studio.run(700)
    called = [m for m in studio.see(lambda db: found_parts.milestones(db, number)) if m.name == "call-120"]
    assert len(called) == 1
    studio.kill()
    studio.start()
    studio.run(120)
    assert studio.present()["calls"] == []
    assert [m for m in studio.see(lambda db: found_parts.milestones(db, number)) if m.name == "call-120"] == called
