"""The polarity by a warm hand."""

import pytest

from daemon.doctor.warm_hand import LONGEST_S, Verdict, watch_hand
from daemon.doctor.warm_hand_probe import reads
from daemon.errors import BadInput


def held(box, warms_k_per_s):
    """Hold the tip, which warms by so much each second."""
    def wait(seconds):
        box.pass_s(seconds)
        box.hot_c += warms_k_per_s * seconds

    with reads(box.places, box) as read_c:
        return watch_hand(read_c, box.now_s, wait)


@pytest.mark.parametrize(("is_reversed", "verdict"), [(False, Verdict.RIGHT), (True, Verdict.REVERSED)])
def test_a_tip_that_warms_in_the_hand_tells_which_way_round_the_wires_are(box, is_reversed, verdict):
    box.reversed = is_reversed
    assert held(box, 0.2) is verdict


def test_a_tip_that_nobody_holds_tells_nothing_and_is_not_waited_for_for_ever(box):
    assert held(box, 0.0) is Verdict.NO_CHANGE
    assert box.s < 2 * LONGEST_S


def test_nobody_is_asked_to_touch_a_hot_tip(box):
    box.hot_c = 60.0
    assert held(box, 0.2) is Verdict.TOO_HOT


def test_a_broken_probe_is_said(box):
    box.open = True
    assert held(box, 0.2) is Verdict.NO_READING


def test_an_open_firing_is_refused_however_cold_the_kiln_is(box):
    box.daemon_says(t_s=60.0)
    with pytest.raises(BadInput, match="a firing is open"), reads(box.places, box):
        pass
