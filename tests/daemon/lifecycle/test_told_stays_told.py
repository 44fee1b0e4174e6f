"""Whatever a restart finds by judging the stored readings anew, the record stays as it was told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from daemon.firing.watches import firing_stopped
from daemon.notify.alert_messages import Channel
from daemon.store import alerts, outbox
from tests.daemon.lifecycle.test_keyed_in import CUT_S, curve

KEYED = [[150.0, 516.0, 3600.0], [55.0, 370.0, 0.0]]


@pytest.fixture
def night(studio, slump):
    """Return a studio with a phone, just before the power fails in its anneal."""
    studio.kill()
    studio.config = replace(studio.config, channels=(Channel("phone", Path("phone.url")),))
    studio.start()
    studio.start_firing(plan_id=slump)
    studio.says = curve(studio.clock.now_s())
    studio.run(CUT_S)
    return studio


def stored(studio):
    return studio.see(lambda db: alerts.alerts(db, studio.firing().firing_id))


def steps(studio):
    return studio.see(lambda db: alerts.transitions(db, studio.firing().firing_id))


def shown(studio):
    return [(alert["no"], alert["kind"], alert["cleared_s"]) for alert in studio.present()["alerts"]]


def restart(studio):
    """Kill the daemon and start another program, to which the old one's checkpoint is worth nothing."""
    studio.kill()
    (studio.folder / "checkpoint").unlink(missing_ok=True)
    studio.clock.pass_s(3)
    studio.start()
    studio.run(1)


@pytest.mark.parametrize(("wake_after_s", "is_keyed_in"), [(60.0, False), (420.0, True)])
def test_a_restart_by_a_program_that_judges_otherwise_leaves_the_record_as_it_was_told(
        night, monkeypatch, wake_after_s, is_keyed_in):
    def another_program_starts():
        before, told = stored(night), steps(night)
        with monkeypatch.context() as patch:
            patch.setattr(firing_stopped, "WAKE_AFTER_S", wake_after_s)
            restart(night)
        assert (stored(night), steps(night)) == (before, told)
        assert shown(night) == [(alert.no, alert.kind, alert.cleared_s) for alert in before]

    for for_s in (90.0, 60.0, 120.0, 180.0, 450.0):  # pending, raised, woken, sounded again, power just back
        night.run(for_s)
        another_program_starts()
    assert [(a.kind, a.cleared_s) for a in stored(night) if a.rank == "wake"] == [("firing-stopped", None)]
    if is_keyed_in:
        assert night.ask("keyed-in", firing_id=night.firing().firing_id, lines=KEYED) == "done"
        assert all(alert.cleared_s is not None for alert in stored(night))
        another_program_starts()
    for for_s in (400.0, 940.0, 1800.0):
        night.run(for_s)
        another_program_starts()
    overs = [step.no for step in steps(night) if step.change == "over"]
    assert len(overs) == len(set(overs))  # none was over twice
    assert [step.no for step in steps(night) if step.change == "raised"] == [alert.no for alert in stored(night)]


def test_what_stands_in_the_record_and_is_found_no_more_is_over_after_its_off_delay_and_told(night, monkeypatch):
    night.run(600)
    (wake,) = (alert for alert in stored(night) if alert.rank == "wake")
    monkeypatch.setattr(firing_stopped, "LOOK_AFTER_S", 1e6)
    restart(night)
    assert (wake.no, wake.kind, None) in shown(night)
    off_delay_s = firing_stopped.KIND.off_delay_s
    night.run(off_delay_s - 60)
    assert (wake.no, wake.kind, None) in shown(night)
    night.run(120)
    now = next(alert for alert in stored(night) if alert.no == wake.no)
    assert now == replace(wake, cleared_s=now.cleared_s)
    assert now.cleared_s == pytest.approx(CUT_S + 603 + off_delay_s, abs=30)
    assert (wake.no, wake.kind, now.cleared_s) in shown(night)
    said = night.see(lambda db: outbox.pending(db, "phone"))[-1]
    assert "Lehrling no longer sees this: the kiln is not heating." in said.body


def test_what_only_the_new_program_finds_is_noted_from_then_on_and_not_as_of_the_past(night, monkeypatch):
    with monkeypatch.context() as blind:
        blind.setattr(firing_stopped, "LOOK_AFTER_S", 1e6)
        night.run(600)
        assert "firing-stopped" not in {alert.kind for alert in stored(night)}
        before = steps(night)
    restart(night)
    night.run(30)
    new = steps(night)[len(before):]
    (named,) = (step for step in new if step.kind == "firing-stopped")
    assert (named.change, named.rank) == ("sharpened", "wake")
    assert named.t_s == pytest.approx(CUT_S + 615, abs=25)


def test_an_answer_given_before_a_restart_keeps_its_alert_quiet(night, monkeypatch):
    night.run(400)
    (wake,) = (alert for alert in stored(night) if alert.rank == "wake")
    assert night.ask("acknowledge", firing_id=night.firing().firing_id, alert_no=wake.no) == "done"
    monkeypatch.setattr(firing_stopped, "WAKE_AFTER_S", 420.0)  # by this one it is raised after it was answered
    restart(night)
    night.run(350)
    assert [step.change for step in steps(night) if step.no == wake.no].count("resounded") == 0
    assert stored(night)[wake.no - 1].acknowledged_s == pytest.approx(CUT_S + 400, abs=10)


def test_what_is_found_again_a_moment_after_the_restart_is_not_told_twice(night, monkeypatch):
    night.run(600)
    before = steps(night)
    (wake,) = (alert for alert in stored(night) if alert.rank == "wake")
    with monkeypatch.context() as blind:
        blind.setattr(firing_stopped, "LOOK_AFTER_S", 1e6)
        restart(night)  # what is judged anew finds nothing; from now on it does
    night.run(30)
    assert [step.change for step in steps(night)[len(before):] if step.no == wake.no] in ([], ["resounded"])
    assert [alert.no for alert in stored(night) if alert.kind == wake.kind] == [wake.no]
    assert (wake.no, wake.kind, None) in shown(night)


def test_the_same_program_finds_what_was_told_and_takes_nothing_from_the_record(night, caplog):
    night.run(600)
    restart(night)
    assert "give other alerts than were told" not in caplog.text
