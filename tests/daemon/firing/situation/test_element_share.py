"""The rise after a fall without power shows what the probe loses when the elements fall silent."""

from __future__ import annotations

from math import exp

import pytest

from daemon.firing.situation.element_share import MOST_K, ElementShare

FALL_ENDS_S = 1800.0


def seen(after, *, until_s=FALL_ENDS_S + 3600.0):
    """Return the share after a fall of 12 K a minute to 500 °C and then what ``after`` gives (s since then → °C)."""
    share, fell_until_s = ElementShare(), None
    for beat in range(round(until_s / 20.0) + 1):
        t_s = 20.0 * beat
        if t_s <= FALL_ENDS_S:
            fell_until_s, temp_c = t_s, 500.0 + (FALL_ENDS_S - t_s) / 5.0
        else:
            temp_c = after(t_s - FALL_ENDS_S)
        share.see(t_s, temp_c, fell_until_s)
    return share


def test_a_probe_that_comes_back_by_twelve_kelvins_has_lost_twelve():
    share = seen(lambda s: 512.0 - 12.0 * exp(-s / 240.0))
    assert share.share_k == pytest.approx(12.0, abs=0.6)
    # 80 % of an exponential take ln 5 = 1.61 time constants.
    assert share.takes_s == pytest.approx(1.61 * 240.0, abs=30.0)


def test_the_lowest_reading_counts_though_the_kiln_sinks_on_for_a_while_after_its_fall():
    share = seen(lambda s: 500.0 - s / 60.0 if s < 480.0 else 492.0 + min(8.0, (s - 480.0) / 60.0))
    assert share.share_k == pytest.approx(8.0, abs=0.6)
    assert share.takes_s == pytest.approx(0.8 * 480.0, abs=40.0)


@pytest.mark.parametrize("after", [lambda s: 500.0, lambda s: 500.0 - s / 600.0, lambda s: 500.0 + 0.4 * (s > 300.0)])
def test_where_nothing_rises_nothing_is_lost(after):
    assert seen(after).share_k == 0.0


def test_more_than_elements_make_is_not_believed():
    assert seen(lambda s: 500.0 + min(60.0, s / 20.0)).share_k == MOST_K


def test_the_end_of_the_hold_itself_is_no_new_lowest_reading():
    share = seen(lambda s: 512.0 - 12.0 * exp(-s / 240.0) if s < 2000.0 else 512.0 - (s - 2000.0) / 20.0)
    assert share.share_k == pytest.approx(12.0, abs=0.6)


def test_before_any_fall_without_power_nothing_is_known():
    share = ElementShare()
    share.see(0.0, 500.0, None)
    share.see(20.0, 510.0, None)
    assert (share.share_k, share.takes_s) == (0.0, 0.0)


def test_the_next_fall_begins_anew():
    share = seen(lambda s: 512.0 - 12.0 * exp(-s / 240.0))
    share.see(9000.0, 470.0, 9000.0)
    assert share.share_k == 0.0
