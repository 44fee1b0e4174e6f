"""The charts' sentences: what they show, whether anything changed, and since when."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from daemon.store.wear.part_changes import PartChange
from web.kiln.charts import climb_chart, difference_chart
from web.kiln.drift import Point

STARTS = datetime(2026, 3, 1, 20, 0, tzinfo=UTC)
NEW_PROBE = PartChange(1, 1, "thermocouple", date(2026, 3, 7), "", False)
NEW_ELEMENTS = PartChange(2, 1, "elements", date(2026, 3, 7), "", False)


@pytest.fixture
def page(studio):
    """The links of a table need an app."""
    with studio.app().test_request_context():
        yield


def _points(*values):
    return [Point(n, STARTS + timedelta(days=n), value) for n, value in enumerate(values, start=1)]


def _said(chart):
    return chart.sentence.replace("\u00a0", " ")


@pytest.mark.usefixtures("page")
def test_a_probe_that_moved_is_told_with_what_to_look_at():
    chart = difference_chart("a", "Held", _points(0, 0, 0, 0, 8, 8), (), "C")
    assert _said(chart) == (
        "In the latest firing it read 8 °C above plan. It has moved 8 °C up over these firings. Look whether the "
        "probe sits where it did, the kiln cold; compare it with a new one in place.")


@pytest.mark.usefixtures("page")
def test_differences_are_told_and_drawn_in_the_reader_s_unit():
    chart = difference_chart("a", "Held", _points(0, 0, 0, -5, -5, -5), (), "F")
    assert "In the latest firing it read 9 °F below plan." in _said(chart)
    assert "It has moved 9 °F down" in _said(chart)
    assert "°F above or below plan" in chart.wide
    assert "°C" not in chart.wide + chart.narrow


@pytest.mark.usefixtures("page")
def test_after_a_new_thermocouple_the_comparison_begins_anew():
    points = _points(0, 0, 0, 0, 0, 9, 9, 9)
    assert "It has moved 9 °C up" in _said(difference_chart("a", "Held", points, (), "C"))
    after = difference_chart("a", "Held", points, (NEW_PROBE,), "C")
    assert "It takes 6 firings to tell whether that changes; since the new thermocouple there are 3." in _said(after)
    assert ">new thermocouple</text>" in after.narrow
    elements = difference_chart("a", "Held", points, (NEW_ELEMENTS,), "C")
    assert "It has moved" in _said(elements)  # no matter of the probe


@pytest.mark.usefixtures("page")
def test_climbs_that_take_longer_are_told_with_who_may_measure():
    slower = climb_chart(_points(1.0, 1.0, 1.0, 1.1, 1.1, 1.1), ())
    assert "They take 10 % longer than at first over these firings." in _said(slower)
    assert "licensed person, the kiln cold and isolated" in _said(slower)
    assert "The kiln follows its plans as it did over these firings." in _said(climb_chart(_points(*[1.0] * 6), ()))
    assert ">new elements</text>" in climb_chart(_points(*[1.0] * 9), (NEW_ELEMENTS,)).wide


@pytest.mark.usefixtures("page")
@pytest.mark.parametrize(("values", "said"), [((1,), "One firing so far"), ((1, 2), "Two firings so far")])
def test_fewer_than_three_firings_are_told_and_not_drawn(values, said):
    chart = difference_chart("a", "Held", _points(*values), (), "C")
    assert f"{said}: a chart is drawn from three on." in _said(chart)
    assert not chart.wide
    assert not chart.narrow
    assert len(chart.rows) == len(values)


@pytest.mark.usefixtures("page")
def test_each_dot_is_named_and_stands_in_the_table_with_its_firing():
    chart = difference_chart("a", "Held", _points(0, 3, -3), (), "C")
    assert [(row.date, row.figure.replace("\u00a0", " "), row.href) for row in chart.rows] == [
        ("Mon 2 Mar 2026", "as planned", "/firings/1"), ("Tue 3 Mar 2026", "3 °C above plan", "/firings/2"),
        ("Wed 4 Mar 2026", "3 °C below plan", "/firings/3")]
    for drawn in (chart.wide, chart.narrow):
        assert drawn.count('class="tip"') == 3
        assert "<title>Wed 4 Mar 2026: 3\u00a0°C below plan</title>" in drawn
