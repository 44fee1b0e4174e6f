"""Whether climbs that a kiln can't follow were foreseen, and only those."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import mean
from typing import Literal, NamedTuple

from benchmarks.wear.kilns import Fired
from daemon.kiln.foresight import foresee
from daemon.kiln.learn import learn
from daemon.kiln.past_firing import Ran

LEARNED_FROM, NEXT = (3, 6, 9), 3
"""A kiln is learned from so many of its firings, and so many after them are foreseen."""
FULL, SLOW, COLD_C, NEAR_K = 0.95, 0.9, 100.0, 10.0
"""All power is on from this share of it, over eleven minutes; a climb is slow below the second share of its rate; and
it is looked at from the third on until so near its target [1, 1, °C, K]."""
LONG_ROWS, SHORT_ROWS = 20, 5
"""A kiln can't follow a climb that is slow with all power on for the first [minutes]; it follows where that lasts
less than the second. What lies between is not counted."""


class Asked(NamedTuple):
    """One climb: what it was, and what had been foreseen."""

    kiln: str
    truth: Literal["can", "can't", "between"]
    said: Literal["told", "untried", "silent"]


def followed(kiln: str, firings: Sequence[Fired]) -> list[Asked]:
    """Return the climbs of a kiln's firings as they were foreseen from earlier ones."""
    found = []
    for count in LEARNED_FROM:
        model = learn([one.past for one in firings[:count]])
        assert model is not None
        for one in firings[count:count + NEXT]:
            past = one.past
            foreseen = {part.part: part for part in foresee(
                past.planned, model, past.trace[0][1], room_c=past.room_c).parts}
            for ran in past.ran:
                if past.planned[ran.part].direction > 0:
                    is_slow = foreseen[ran.part].slow_from_c is not None
                    found.append(Asked(kiln, _truth(one, ran), "silent" if not is_slow else
                                       "told" if model.is_power_known else "untried"))
    return found


def _truth(one: Fired, ran: Ran) -> Literal["can", "can't", "between"]:
    """Return whether the kiln followed a climb, from how hard its elements worked."""
    past, planned = one.past, one.past.planned[ran.part]
    if planned.rate_c_per_h is None:
        return "between"
    slow = sum(1 for i in past.rows(ran.start_s, ran.end_s)
               if COLD_C < past.trace[i][1] < planned.to_c - NEAR_K
               and mean(one.duties[max(0, i - 5):i + 6]) > FULL
               and past.slopes[i] < SLOW * planned.rate_c_per_h / 3600)
    return "can't" if slow >= LONG_ROWS else "can" if slow < SHORT_ROWS else "between"
