"""Which stretch of the curves is drawn."""

from __future__ import annotations

import pytest

from web.compare.stretch import around_the_top, shown_stretch, ways
from web.drawing.overlay_layers import Layer

ALL_S = (-7200.0, 36_000.0)


def layer(top_c, top_s=0.0):
    """Return a firing that climbs and falls 300 K/h to and from its top."""
    return Layer("A", [(t, c, c, c) for t in range(-7200, 36_000, 60) for c in [top_c - abs(t - top_s) / 12]])


def test_around_the_top_is_where_any_firing_is_less_than_50_k_below_the_haze_range():
    first_s, last_s = around_the_top([layer(800.0), layer(760.0, 3600.0)], ALL_S)
    assert first_s == pytest.approx(-150 * 12, abs=60)  # 800 - 650 at 300 K/h
    assert last_s == pytest.approx(3600 + 110 * 12, abs=60)


def test_a_slump_that_never_reaches_the_haze_range_has_no_drawing_of_its_top():
    assert around_the_top([layer(690.0)], ALL_S) is None
    assert around_the_top([], ALL_S) is None


def test_tops_that_lie_far_apart_have_no_drawing_of_their_own():
    assert around_the_top([layer(800.0, -3600.0), layer(800.0, 30_000.0)], ALL_S) is None


@pytest.mark.parametrize("asked", [(None, None), (3.0, 3.0), (9.0, 2.0), (-999.0, 999.0), (3.0, 3.1)])
def test_what_is_no_stretch_is_all_of_it(asked):
    assert shown_stretch(asked, ALL_S) is None


def test_from_a_stretch_one_goes_aside_nearer_and_wider_and_from_all_only_nearer():
    shown = shown_stretch((1.0, 2.0), ALL_S)
    assert shown == (3600.0, 7200.0)
    assert ways(shown, ALL_S) == {"Earlier": ("0.50", "1.50"), "Later": ("1.50", "2.50"),
                                  "Look closer": ("1.25", "1.75"), "Wider": ("0.50", "2.50")}
    assert list(ways(None, ALL_S)) == ["Look closer"]


def test_a_way_ends_where_there_is_nothing_further():
    at_the_start = shown_stretch((-2.0, 0.0), ALL_S)
    assert ways(at_the_start, ALL_S) == {"Later": ("-1.00", "1.00"), "Look closer": ("-1.50", "-0.50"),
                                         "Wider": ("-2.00", "1.00")}
    near_the_end = shown_stretch((7.5, 9.5), ALL_S)  # of ten hours: half an hour is left
    assert ways(near_the_end, ALL_S)["Later"] == ("8.00", "10.00")
    assert ways(near_the_end, ALL_S)["Wider"] == ("6.50", "10.00")
    assert "Later" not in ways((8.0 * 3600, ALL_S[1]), ALL_S)
    assert "Later" not in ways((0.0, 35_990.0), ALL_S)  # what is left rounds to nothing
    assert "Look closer" not in ways((0.0, 1000.0), ALL_S)  # nothing shorter than ten minutes is shown
