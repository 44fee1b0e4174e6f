"""A temperature that comes and goes, told once; and losses that are nothing or have a name of their own."""

from __future__ import annotations

import pytest

from daemon.firing import example_firing
from daemon.firing.detection.blindness import Blindness
from daemon.firing.events import Rank, Sample
from daemon.firing.kind import Finding
from daemon.firing.report import judge
from daemon.firing.setup import Setup
from daemon.firing.speaker import ELECTRIC
from daemon.firing.trace.recent import Trail
from daemon.firing.watches.reading_flickers import KIND, FlickerWatch, ReadingFlickers
from daemon.glass.materials import FAMILIES


def entries(minutes, *losses, fault="open"):
    """Return entries of 5 s that climb at 200 °C/h from 600 °C; ``losses`` are (second, how long [s])."""
    found = []
    for i in range(round(minutes * 12)):
        t_s = 5.0 * i
        lost = any(from_s <= t_s < from_s + for_s for from_s, for_s in losses)
        ripple_k = 0.05 * (i * i % 7)
        found.append(Sample(t_s, None, fault) if lost else Sample(t_s, 600.0 + t_s / 18.0 + ripple_k))
    return found


@pytest.fixture
def see(reading_of):
    """Return a function that shows entries to a watch and returns what it finds at each."""
    def seen(samples, *, dangerous=False):
        watch, blindness, trail = FlickerWatch(), Blindness(), Trail()
        return [watch.see(reading_of(sample.t_s, sample.temp_c, sample=sample, trail=trail,
                                     outage=blindness.see(sample), is_blindness_dangerous=dangerous))
                for sample in samples]
    return seen


def first(found):
    return next((finding for finding in found if finding is not None), None)


@pytest.mark.parametrize(("losses", "told_s"), [
    ([(600.0 + 60.0 * k, 10.0) for k in range(4)], 780.0),  # four in ten minutes: the fourth tells
    ([(600.0 + 540.0 * k, 10.0) for k in range(6)], 600.0 + 5 * 540.0),  # six in an hour
    ([(600.0 + 900.0 * k, 45.0) for k in range(3)], 600.0 + 2 * 900.0 + 30.0),  # three that would be looks themselves
])
def test_many_losses_in_a_while_are_one_finding_that_stands(see, losses, told_s):
    samples = entries(70, *losses)
    found = see(samples)
    told = first(found)
    assert (told.kind, told.rank, told.since_s) == (KIND, Rank.LOOK, 600.0)
    assert samples[found.index(told)].t_s == told_s
    assert told.facts.losses == len(losses)
    last_s, _ = losses[-1]
    assert told.facts.within_s == max(60.0, told_s - losses[0][0])
    assert told.facts.blind_s == sum(seconds for _, seconds in losses[:-1]) + told_s - last_s


def test_losses_that_lie_close_together_are_told_as_within_a_minute(see):
    told = first(see(entries(20, *((600.0 + 10.0 * k, 5.0) for k in range(4)))))
    assert told.facts.within_s == 60.0


@pytest.mark.parametrize("losses", [
    [(600.0 + 60.0 * k, 10.0) for k in range(3)],
    [(600.0 + 725.0 * k, 15.0) for k in range(12)],  # five in any hour
    [(600.0, 45.0), (1500.0, 45.0)],
    [(600.0, 3000.0)],  # one long loss is a sensor-fault
])
def test_few_losses_are_nothing(see, losses):
    assert first(see(entries(160, *losses))) is None


@pytest.mark.parametrize("fault", ["silent", "range"])
def test_a_chip_that_falls_silent_flickers_too_and_rows_that_are_missing_do_not(see, fault):
    samples = entries(60, *((600.0 * k, 60.0) for k in (1, 2, 3)), fault=fault)
    told = first(see(samples))
    assert (told.since_s, told.facts.losses) == (600.0, 3)
    assert first(see([sample for sample in samples if sample.temp_c is not None])) is None


def test_it_wakes_where_blindness_is_dangerous_and_takes_too_much_of_the_time(see):
    often = [(600.0 + 60.0 * k, 30.0) for k in range(15)]  # blind half of the time
    seldom = [(600.0 + 60.0 * k, 10.0) for k in range(15)]  # blind a sixth of it
    samples = entries(30, *often)
    found = see(samples, dangerous=True)
    woke = next(i for i, finding in enumerate(found) if finding is not None and finding.rank is Rank.WAKE)
    # Eight losses of 30 s are the 240 s after which blindness wakes; the eighth ends at 600 + 7·60 + 30 s.
    assert samples[woke].t_s == 600.0 + 7 * 60.0 + 30.0
    assert {finding.rank for finding in see(entries(30, *often)) if finding is not None} == {Rank.LOOK}
    assert {finding.rank for finding in see(entries(30, *seldom), dangerous=True) if finding} == {Rank.LOOK}


def test_a_chip_at_the_end_of_its_range_by_a_false_scale_has_no_loose_plug(reading_of):
    watch, found = FlickerWatch(), []
    for t_s in range(0, 1200, 30):
        too_hot = None if t_s < 600 else (600.0, 1768.0)
        found.append(watch.see(reading_of(float(t_s), None if t_s % 60 else 1760.0, too_hot_for_any=too_hot)))
    assert any(found[:20])
    assert not any(found[20:])


def test_it_is_over_when_the_losses_are_long_past(see):
    samples = entries(60, *((600.0 + 60.0 * k, 10.0) for k in range(4)))
    found = see(samples)
    last_s = max(sample.t_s for sample, finding in zip(samples, found, strict=True) if finding is not None)
    assert last_s == 790.0 - 180.0 + 600.0  # ten minutes after the first of four has ended


def judged(*losses, minutes=120):
    return judge(Setup(None, FAMILIES["90"]), entries(minutes, *losses)).alerts


def test_a_night_of_a_loose_plug_is_one_alert_and_a_further_short_loss_none_of_its_own():
    alerts = judged(*((600.0 + 240.0 * k, 45.0) for k in range(20)))
    kinds = [(alert.kind, alert.under) for alert in alerts]
    assert kinds == [("sensor-fault", "reading-flickers")] * 2 + [("reading-flickers", None)]
    assert len(kinds) == 3  # two were told before; the other 18 of 20 losses belong to it from the beginning


def test_a_wire_that_breaks_at_last_wakes_by_its_own_name():
    alerts = judged(*((600.0 + 90.0 * k, 10.0) for k in range(10)), (2400.0, 4000.0))
    assert {alert.kind for alert in alerts if alert.rank is Rank.WAKE} == {"sensor-fault"}
    (broken,) = [alert for alert in alerts if alert.rank is Rank.WAKE]
    assert broken.woke_s - 2400.0 <= 300.0


def test_the_words_say_how_often_and_for_how_long_it_was_blind():
    text = KIND.words(Finding(KIND, Rank.LOOK, 0.0, ReadingFlickers(7, 600.0, 300.0)), example_firing.speaker())
    assert text.what == "Reading lost 7 times in 10 min, it comes and goes."
    assert "In the gaps, 5 min in all, Lehrling is blind" in text.meaning
    assert text.do.endswith(ELECTRIC)
