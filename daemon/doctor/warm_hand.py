"""The polarity of the thermocouple by a warm hand: its reading must rise when the tip is held, not fall."""

from __future__ import annotations

from collections.abc import Callable
from enum import StrEnum

COLDEST_HOT_C = 40.0
"""From here on nobody is asked to touch the tip [°C]. [common practice: a kiln is opened by hand below it]"""
RISE_K = 2.0
"""A hand warms the tip by at least this [K]. [chosen: a hand is some 10 K warmer than a room, a thick sheath
takes only a part of it, and the scatter is far below]"""
LONGEST_S = 120.0
"""So long is waited for it [s]. [chosen: a thick sheath needs a minute]"""
EVERY_S = 1.0
"""Time between two looks [s]. [chosen: the probe is read each second]"""

CAUTION = ("Only with the kiln cold, and unplugged or its isolator off: a sheath that touches an element carries "
           "mains voltage. If you are unsure, leave it to a licensed electrician.")


class Verdict(StrEnum):
    """What the hand told."""

    RIGHT = "right"
    REVERSED = "reversed"
    NO_CHANGE = "no change"
    TOO_HOT = "too hot"
    NO_READING = "no reading"


WORDS = {
    Verdict.RIGHT: "good: it reads warmer in the hand. The wires are the right way round.",
    Verdict.REVERSED: "The reading fell in the hand: the two wires are swapped. Swap them, and try again.",
    Verdict.NO_CHANGE: "Nothing changed enough to tell. Hold the very tip, longer; a hand in a cool room tells best.",
    Verdict.TOO_HOT: "The probe reads too hot to be touched. Wait until kiln and probe are at room temperature.",
    Verdict.NO_READING: "The probe gives no temperature. See what lehrling doctor says of it first.",
}


def watch_hand(read_c: Callable[[], float | None], now_s: Callable[[], float], wait: Callable[[float], None],
               shown: Callable[[float], None] = lambda temp_c: None) -> Verdict:
    """Wait for the reading to rise or fall.

    Parameters
    ----------
    read_c
        Gives the probe's temperature [°C]; None where there is none.
    now_s, wait
        The clock [s], and how to wait [s].
    shown
        Is told each reading [°C].
    """
    first_c = read_c()
    if first_c is None:
        return Verdict.NO_READING
    if first_c >= COLDEST_HOT_C:
        return Verdict.TOO_HOT
    until_s = now_s() + LONGEST_S
    while now_s() < until_s:
        wait(EVERY_S)
        temp_c = read_c()
        if temp_c is None:
            continue
        shown(temp_c)
        if temp_c - first_c >= RISE_K:
            return Verdict.RIGHT
        if first_c - temp_c >= RISE_K:
            return Verdict.REVERSED
    return Verdict.NO_CHANGE
