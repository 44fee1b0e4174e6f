"""A recorded trace that is coarse, or perhaps in other units, is said to be so; an ordinary one is left alone."""

from __future__ import annotations

import pytest

from daemon.commands.printed.trace_warnings import LONGEST_GAP_S, caveats, refuse_two_firings
from daemon.errors import BadInput
from daemon.firing.events import Sample
from daemon.firing.plan.plan import Plan, Step, to_unit
from daemon.firing.trace.csv_trace import Trace

SLUMP = Plan("Slump", "C", (Step(120.0, 650.0, 900.0), Step(None, 516.0, 2700.0), Step(80.0, 40.0)))


def fired(*, every_s=5.0, rate_c_per_h=120.0, top_c=650.0, times=1.0, unit="C"):
    """Return a climb from 20 °C, its seconds divided by ``times`` and its degrees written in ``unit``."""
    long_s = (top_c - 20.0) / rate_c_per_h * 3600
    rows = [n * every_s for n in range(int(long_s / every_s) + 1)]
    return Trace([Sample(t / times, to_unit(20.0 + rate_c_per_h * t / 3600, unit)) for t in rows])


@pytest.mark.parametrize("plan", [None, SLUMP])
@pytest.mark.parametrize("trace", [
    fired(), fired(every_s=60.0), fired(rate_c_per_h=1500.0, top_c=700.0), fired(top_c=925.0),
    Trace([Sample(0.0, None, "open")]), Trace([Sample(0.0, 20.0)]),
], ids=["usual", "a row a minute", "as fast as a kiln goes", "casting", "blind", "one row"])
def test_an_ordinary_trace_has_none(trace, plan):
    assert caveats(trace, plan) == ()


@pytest.mark.parametrize(("every_s", "said"), [
    (90.0, "A reading every 90 s is coarse. Holds are known to about 3 min"),
    (300.0, "A reading every 5 min is coarse. Holds are known to about 10 min"),
])
def test_a_coarse_trace_is_told_with_what_it_cannot_show(every_s, said):
    (told,) = caveats(fired(every_s=every_s), SLUMP)
    assert told.startswith(said)
    assert "may not be" in told


def test_minutes_in_the_column_of_seconds_are_guessed_from_the_climb():
    # 120 °C/h becomes 7200: 630 °C in 315 s.
    (told,) = caveats(fired(times=60.0), SLUMP)
    assert told == ("It climbs 630 °C in 315 s, faster than a kiln can. Perhaps the seconds are minutes: "
                    "multiply them by 60.")


@pytest.mark.parametrize(("plan", "top_c"), [(SLUMP, 650.0), (SLUMP, 655.0), (None, 650.0), (None, 800.0)])
def test_fahrenheit_in_the_column_of_celsius_is_guessed_from_both_ends(plan, top_c):
    (told,) = caveats(fired(top_c=top_c, unit="F"), plan)
    assert told.startswith("It begins at 68 and peaks at 1")
    assert "Perhaps these are °F" in told


@pytest.mark.parametrize(("first_c", "plan"), [(20.0, None), (20.0, SLUMP), (68.0, SLUMP)])
def test_a_kiln_that_ran_away_is_not_explained_away(first_c, plan):
    # From 68 °C to 1150 °C is no slump in °F, whose top is 1202 °F.
    trace = Trace([Sample(0.0, first_c), Sample(30.0, first_c), *(
        Sample(60.0 * n, min(1150.0, first_c + 8.0 * n)) for n in range(1, 200))])
    assert caveats(trace, plan) == ()


def test_rows_that_contradict_each_other_are_counted():
    assert caveats(fired()._replace(contradictions=1), None) == (
        "1 row gives a second another temperature than the row before; the first one counts.",)
    assert caveats(fired()._replace(contradictions=12), None)[0].startswith("12 rows give a second another")


def test_seconds_from_1970_are_told_as_a_date():
    # GNU date: date -u -d @1764060000 says Tue Nov 25 08:40:00 2025.
    assert caveats(fired()._replace(from_1970_s=1764060000.0), None) == (
        "The seconds count from 1970. The first row, 2025-11-25 08:40 UTC, is taken for the moment start was "
        "pressed.",)


@pytest.mark.parametrize(("from_1970_s", "row"), [(None, 31_540_000), (1.7e9, 1_731_540_000)])
def test_two_firings_in_one_file_are_refused_with_where_to_cut_it(from_1970_s, row):
    year_later = [Sample(t, 20.0) for t in (0.0, 5.0, 3600.0, 31_540_000.0, 31_540_005.0, 99_000_000.0)]
    with pytest.raises(BadInput) as refused:
        refuse_two_firings(Trace(year_later, from_1970_s), "t.csv")
    assert refused.value.text == (
        f"t.csv, the row of second {row}: comes 365 days 0 h after the row before it. Beyond 48 h it is another "
        "firing. Cut the file before that row, and replay each part by itself.")


@pytest.mark.parametrize("gap_s", [5.0, 3600.0, LONGEST_GAP_S])
def test_a_night_without_power_is_one_firing(gap_s):
    refuse_two_firings(Trace([Sample(0.0, 500.0), Sample(gap_s, 20.0)]), "t.csv")
