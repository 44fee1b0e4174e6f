"""Small charts of firings over time say their figures to the whole, and never a minus before a nought."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from web.drawing.dot_chart_svg import dots_svg
from web.drawing.overlay_svg import hours

STARTS = datetime(2026, 3, 1, 20, 0, tzinfo=UTC)


@pytest.mark.parametrize(("values", "said"), [((-0.3, -0.4, -0.2), "0 °C"), ((-3.4, -2.8, -3.2), "−3 °C")])
def test_a_figure_near_nothing_has_no_minus(values, said):
    drawn = dots_svg([(STARTS + timedelta(days=n), value) for n, value in enumerate(values)], "°C")
    assert f">{said}</text>" in drawn
    assert f"in the middle {said}" in drawn
    assert "−0" not in drawn
    assert "-0" not in drawn


def test_the_zero_of_a_comparison_is_not_before_itself():
    said = [hours(t_s).replace("\u00a0", " ") for t_s in (-10.0, 0.0, -5400.0, 5400.0)]
    assert said == ["+0 h", "+0 h", "−1.5 h", "+1.5 h"]
