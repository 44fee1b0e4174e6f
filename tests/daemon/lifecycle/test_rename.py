"""A firing gets its plan and name afterwards, and nothing that was told is taken back."""

from __future__ import annotations

from pathlib import Path

from daemon.firing.events import Rank
from daemon.store import alerts, found_parts, judgements, outbox, readings

SLUMP = (Path(__file__).parents[1] / "slump.toml").read_text(encoding="utf-8")


def _transitions(studio):
    return studio.see(lambda db: alerts.transitions(db, studio.firing().firing_id))


def test_a_name_changes_the_words_and_judges_nothing_anew(studio):
    firing = studio.start_firing()
    judge = studio.watch.live.judge
    assert studio.ask("name", firing_id=firing.firing_id, title="Tide tray") == "done"
    assert studio.firing().title == "Tide tray"
    assert studio.present()["firing_title"] == "Tide tray"
    assert studio.watch.live.judge is judge
    assert studio.firing().plan_id is None


def test_a_plan_given_afterwards_judges_the_kept_readings_and_sends_no_old_news(slumped):
    studio, slump = slumped(is_planned=False)
    firing = studio.firing()
    assert _transitions(studio) == []
    kept = studio.see(lambda db: readings.samples(db, firing.firing_id))
    assert studio.ask("name", firing_id=firing.firing_id, title="Bowl", plan_id=slump) == "done"
    assert (studio.firing().plan_id, studio.firing().alert_base) == (slump, 0)
    found = _transitions(studio)
    assert ("cooling-too-fast", Rank.WAKE) in {(t.kind, t.rank) for t in found}
    assert len(studio.see(lambda db: found_parts.parts(db, firing.firing_id))) >= 4
    assert studio.see(lambda db: outbox.pending(db, "phone")) == []
    assert studio.see(lambda db: readings.samples(db, firing.firing_id))[:len(kept)] == kept
    assert studio.present()["alerts"]


def test_another_plan_keeps_the_old_alerts_ends_them_and_numbers_its_own_after_them(slumped):
    studio, _ = slumped(is_planned=True)
    gentle = studio.add_plan(SLUMP.replace("Slump", "Gentle").replace("rate = 55", "rate = 40"))
    firing = studio.firing()
    old = studio.see(lambda db: alerts.alerts(db, firing.firing_id))
    old_steps = _transitions(studio)
    assert any(alert.cleared_s is None for alert in old)
    assert studio.ask("name", firing_id=firing.firing_id, plan_id=gentle) == "done"
    now = studio.see(lambda db: alerts.alerts(db, firing.firing_id))
    assert [alert.no for alert in now] == list(range(1, len(now) + 1))
    assert len(now) > len(old)
    assert all(alert.cleared_s is not None for alert in now[:len(old)])
    assert [(a.kind, a.raised_s, a.text) for a in now[:len(old)]] == [(a.kind, a.raised_s, a.text) for a in old]
    assert _transitions(studio)[:len(old_steps)] == old_steps
    assert studio.firing().alert_base == len(old)
    numbers = [alert["no"] for alert in studio.present()["alerts"]]
    assert numbers == [alert.no for alert in now]

    # What is said and what happens later goes by the new numbers, over a restart too.
    newest = now[-1].no
    assert studio.ask("acknowledge", firing_id=firing.firing_id, alert_no=newest) == "done"
    studio.run(4)
    assert studio.see(lambda db: alerts.alerts(db, firing.firing_id))[-1].acknowledged_s is not None
    steps, shown = _transitions(studio), studio.present()["alerts"]
    studio.kill()
    studio.clock.pass_s(2)
    studio.start()
    assert _transitions(studio) == steps
    studio.run(10)
    assert [alert["no"] for alert in studio.present()["alerts"]] == [alert["no"] for alert in shown]


def test_what_was_said_about_an_alert_of_an_earlier_plan_touches_none_of_the_present_one(slumped):
    studio, _ = slumped(is_planned=True)
    gentle = studio.add_plan(SLUMP.replace("Slump", "Gentle").replace("rate = 55", "rate = 40"))
    firing = studio.firing()
    assert studio.ask("acknowledge", firing_id=firing.firing_id, alert_no=1) == "done"
    assert studio.ask("name", firing_id=firing.firing_id, plan_id=gentle) == "done"
    old = studio.firing().alert_base
    assert old >= 1
    assert studio.ask("acknowledge", firing_id=firing.firing_id, alert_no=1) == "done"
    now = studio.see(lambda db: alerts.alerts(db, firing.firing_id))
    assert now[0].acknowledged_s is not None
    assert [alert.acknowledged_s for alert in now[old:]] == [None] * (len(now) - old)
    assert len(now) > old


def test_a_firing_that_has_ended_can_be_named_and_judged_too(slumped):
    studio, slump = slumped(is_planned=False)
    firing = studio.firing()
    assert studio.ask("end", firing_id=firing.firing_id) == "done"
    assert studio.ask("name", firing_id=firing.firing_id, title="Bowl", plan_id=slump) == "done"
    named = studio.firing()
    assert (named.title, named.plan_id, named.ended_by) == ("Bowl", slump, "maker")
    assert studio.watch.live is None
    assert {t.kind for t in _transitions(studio)} >= {"cooling-too-fast"}


def test_the_verdict_of_the_night_is_kept_when_a_firing_ends_and_a_new_one_beside_it(slumped):
    studio, _ = slumped(is_planned=True)
    number = studio.firing().firing_id
    assert studio.see(lambda db: judgements.judgement(db, number)) is None
    assert studio.ask("end", firing_id=number) == "done"
    night = studio.see(lambda db: judgements.judgement(db, number))
    assert night.told["verdict"][0]["question"] == "Did it reach its top, and no more?"
    assert night.told["unit"] == "C"
    assert night.told["other_unit"]["unit"] == "F"
    assert night.told["verdict"][0]["asked"] == "640 °C"
    assert night.told["other_unit"]["verdict"][0]["asked"] == "1184 °F"  # 640 · 1.8 + 32
    assert night.told["glass"]["time_above_s"]["540"] > 0
    assert studio.ask("name", firing_id=number, thickness_mm=12.0) == "done"
    assert studio.see(lambda db: judgements.judgement(db, number)).judgement_id > night.judgement_id
    assert studio.see(lambda db: db.execute("SELECT count(*) FROM judgement").fetchone()[0]) == 2
