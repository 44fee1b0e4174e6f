"""How watcher and explanations are compared."""

from __future__ import annotations

from math import inf

from daemon.firing.events import Alert, Rank, Text
from daemon.firing.report import judge
from simulations.studies.explanations.model import Explanation, Explanations
from simulations.studies.explanations.shadow import (
    Asked,
    Compared,
    Outcome,
    Shadow,
    compare,
    labelled,
    shadowed,
    table,
)
from simulations.studies.study import case_named

FALLS = frozenset(("firing-stopped", "cooling-too-fast"))


def shadow_of(*told: tuple[float, str | None, float, str | None]) -> Shadow:
    """Return a shadow that was told so: at [s], kind, margin [nats], likeliest fault."""
    return Shadow(Explanations(()), [(t_s, Explanation(kind, t_s, nats, fault)) for t_s, kind, nats, fault in told])


def alert(kind: str, raised_s: float, *named: tuple[float, str]) -> Alert:
    """Return a look."""
    return Alert(1, kind, Rank.LOOK, raised_s, raised_s, Text("", "", ""), named=named)


def test_a_fault_is_told_by_itself_at_its_second_sure_beat_and_once_in_a_quarter_of_an_hour():
    sure = [(20.0 * n, "firing-stopped", 9.0, "firing-stopped") for n in range(20)]
    assert list(shadow_of(*sure).own()) == [(20.0, "firing-stopped")]
    broken = [*sure[:3], (60.0, "firing-stopped", 3.0, None), *sure[4:]]
    assert list(shadow_of(*broken).own()) == [(20.0, "firing-stopped")]
    gone = (400.0, None, -5.0, None)
    assert list(shadow_of(*sure, gone, *((2000.0 + 20 * n, *sure[0][1:]) for n in range(3))).own()) == [
        (20.0, "firing-stopped"), (2020.0, "firing-stopped")]


def test_one_sure_beat_or_many_unsure_ones_tell_nothing():
    unsure = [(20.0 * n, "firing-stopped", 7.9, "firing-stopped") for n in range(20)]
    assert list(shadow_of(*unsure).own()) == []
    assert list(shadow_of((0.0, "sudden-drop", 20.0, None), (20.0, "firing-stopped", 20.0, None)).own()) == []


def test_a_name_is_compared_at_the_first_alert_and_two_minutes_later():
    fault = Asked(frozenset(("firing-stopped",)), FALLS, 1000.0, 4600.0)
    shadow = shadow_of((1180.0, None, -2.0, "sudden-drop"), (1300.0, "firing-stopped", 9.0, "firing-stopped"),
                       (1320.0, "firing-stopped", 9.0, "firing-stopped"))
    told = [alert("firing-stopped", 1200.0, (1400.0, "cooling-too-fast"))]
    found = compare(fault, told, list(shadow.own()), shadow)
    assert found == Compared("firing-stopped", first=False, last=True, at_alert=False, later=True, own=True,
                             watch_min=200 / 60, own_min=320 / 60)


def test_an_alert_before_the_fault_or_long_after_it_is_of_something_else():
    fault = Asked(frozenset(("firing-stopped",)), FALLS, 1000.0, 4600.0)
    for raised_s in (900.0, 4700.0):
        found = compare(fault, [alert("firing-stopped", raised_s)], [], shadow_of())
        assert found.first is None
        assert not found.at_alert


def test_the_shadow_changes_no_alert_and_sees_every_twenty_seconds():
    case = case_named("power-lost-climbing")
    fired = case.fire()
    alerts, shadow = shadowed(case.setup, case.entries(fired))
    assert alerts == judge(case.setup, case.entries(fired)).alerts
    assert alerts
    assert shadow.beats > 0.9 * (fired.samples[-1].t_s - fired.samples[0].t_s) / 20
    assert shadow.next_s < inf


def test_a_table_counts_each_kind_and_all():
    one = Compared("firing-stopped", True, True, True, False, None, 2.0, None)
    two = Compared("sudden-drop", False, True, False, False, True, 4.0, 6.0)
    lines = list(table([Outcome((one, two), False, 2, 3, 100, 0.01), Outcome((), True, 1, 0, 100, 0.01)]))
    assert "| firing-stopped | 1 | 1 | 1 | 1 | 1 | 0 | 0 | 0 | 2.0 |  |" in lines
    assert "| all | 2 | 2 | 1 | 2 | 1 | 0 | 1 | 1 | 3.0 | 6.0 |" in lines
    assert lines[-1].startswith("Nothing wrong: 1 firings; looks and wakes of these kinds 1, in 1 firings; "
                                "explanations by themselves 0, in 0 firings. Cost: 100 µs a beat.")


def test_of_recorded_firings_all_faulty_ones_are_taken_and_some_of_the_others(tmp_path):
    for number in range(6):
        (tmp_path / f"night-{number}").mkdir()
        group = "faulty" if number in (1, 4) else "clean"
        (tmp_path / f"night-{number}" / "truth.json").write_text(f'{{"group": "{group}"}}', encoding="utf-8")
    names = [folder.rsplit("-", 1)[1] for folder in labelled(tmp_path, 3)]
    assert names == ["1", "4", "0", "5"]  # every third of 0, 2, 3, 5
