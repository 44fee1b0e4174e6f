"""A call goes the whole way: asked of the daemon, kept, made, told like a wake, and made once over a restart."""

from __future__ import annotations

from daemon.store import course


def test_a_call_is_kept_and_stands_in_the_present(studio, slump):
    number = studio.start_firing().firing_id
    assert studio.ask("said", firing_id=number, what="call", temp_c=640.0) == "done"
    assert studio.present()["calls"] == [{"temp_c": 640.0, "rising": True}]
    [kept] = studio.see(lambda db: course.said(db, number))
    assert (kept.what.value, kept.temp_c) == ("call", 640.0)
    assert "missing" in studio.ask("said", firing_id=number, what="call")
    assert studio.ask("said", firing_id=number, what="call-off", temp_c=640.0) == "done"
    assert studio.present()["calls"] == []
