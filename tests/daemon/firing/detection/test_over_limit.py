"""How far above the plan's top a kiln is too hot, by what an earlier hold has shown of the probe."""

from __future__ import annotations

import pytest

from daemon.firing.detection.over_limit import KNOWN_MARGIN_K, UNKNOWN_MARGIN_K, limit_k
from daemon.firing.events import Part
from daemon.firing.situation.view import NEVER_NEAR_K

SQUEEZE, TOP = 1, 3
CLIMB_ON = 3
"""The follower's state in the climb to the top, which counts from 1."""
SQUEEZE_C = 600.0


def held(mean_c, moved_k, *, index=SQUEEZE, minutes=30.0):
    """Return a hold that was read at ``mean_c`` [°C] in the mean and moved by ``moved_k`` [K] in ``minutes``."""
    return Part(index, index // 2 + 1, "hold", 1000.0, 1000.0 + 60 * minutes, moved_k * 60 / minutes, mean_c)


@pytest.mark.parametrize(("found", "limit"), [
    ((), UNKNOWN_MARGIN_K),
    ((held(SQUEEZE_C + 16.0, -8.0),), 16.0 + KNOWN_MARGIN_K + 8.0),
    ((held(SQUEEZE_C + 6.0, 7.0),), 6.0 + KNOWN_MARGIN_K + 7.0),
    ((held(SQUEEZE_C + 18.0, 14.0),), NEVER_NEAR_K),  # no further: there nobody takes it for its top
    ((held(SQUEEZE_C + 3.0, 6.0),), UNKNOWN_MARGIN_K),
    ((held(SQUEEZE_C - 6.0, 7.0),), UNKNOWN_MARGIN_K),  # it may have been too cold in that hold, and right at its top
    ((held(SQUEEZE_C - 23.0, 7.0),), UNKNOWN_MARGIN_K),
    ((held(SQUEEZE_C + 18.0, -8.0, minutes=9.0),), UNKNOWN_MARGIN_K),  # too short to show anything
    ((held(SQUEEZE_C + 31.0, -8.0),), UNKNOWN_MARGIN_K),  # no probe is so far off
    ((held(800.0 + 20.0, -8.0, index=TOP),), UNKNOWN_MARGIN_K),  # the top is not judged by itself
])
def test_a_hold_that_moved_too_much_shows_the_probe_within_what_it_moved(view_of, along, found, limit):
    view = view_of(along((0.0, 760.0), (600.0, 790.0)), CLIMB_ON, found=found, offset_known=False)
    assert limit_k(view) == pytest.approx(limit)


def test_where_the_usual_difference_is_known_that_hold_says_nothing(view_of, along):
    view = view_of(along((0.0, 760.0), (600.0, 790.0)), CLIMB_ON, found=(held(SQUEEZE_C + 18.0, -8.0),))
    assert limit_k(view) == KNOWN_MARGIN_K
