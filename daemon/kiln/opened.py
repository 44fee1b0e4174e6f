"""Where in a fall the kiln was opened: a lid that was propped, a plug that was pulled.

The distance of a shut kiln from the room is a sum of decaying exponentials, whose logarithm is convex: the kiln never
falls faster for its distance from the room than just before. Where it does, by more than the readings wander, it was
opened.

Neighbouring stretches of the fall are compared, and the wander is read off the same fall. (Weighed against that: the
slowest stretch of all before, and a fixed limit. Of many stretches the slowest is the one that noise made slowest, so
that 55 of 73 falls in which nothing was opened ended half way, at 112 °C in the middle, and the kiln's slow end was
never learned: kilns of the bench, seeds 400 to 429 of benchmarks.foresight. By the rule here 68 of them are whole,
and 27 of 37 that were opened are found.)
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log, sqrt
from operator import sub
from statistics import mean, median

_WIDE = 15
"""Readings in each of the two stretches. [tuned: kilns of the bench, seeds 400 to 429 of benchmarks.foresight: of 15,
20 and 30 the fewest find the most]"""
_LEAST_WIDE, _NEIGHBOURS = 10, 2
"""And no fewer than the first near the ends of a fall; each reading is the mean with so many on either side.
[chosen: ten minutes, and five]"""
_FASTER = 1.15
"""An opened kiln falls at least so many times as fast as just before [1]. [tuned: as above; 1.1 to 1.2 give the
same]"""
_DEVIATIONS, _LEAST_K = 5.0, 1.5
"""And is in the end further below where it would have been than so many deviations of what readings wander, and than
this [K]. [tuned: as above; 3 to 6 deviations and 1 to 2 K give nearly the same there]"""
_WITH_GAP = 1.5
"""Two stretches that take so many times as long as usual have a gap in them, and are not compared [1].
[chosen: a quarter of an hour is missing]"""
_ENOUGH = 20
"""From fewer differences no wander can be read. [chosen: their median is off by a quarter]"""
_MAD_TO_SD = 1.48
"""Deviation of a normal distribution for its median absolute deviation. [source: tables of the normal distribution,
1 / 0.6745]"""


def shut_for(times_s: Sequence[float], above_k: Sequence[float]) -> int:
    """Return how many readings of a fall pass before the kiln is opened; all of them where it stays shut.

    Parameters
    ----------
    times_s, above_k
        The fall: rising times [s], about a minute apart, and how far above the room each reading is [K].
    """
    smooth_k = [max(1.0, mean(above_k[max(0, k - _NEIGHBOURS):k + _NEIGHBOURS + 1])) for k in range(len(above_k))]
    longest_s = _WITH_GAP * 2 * _WIDE * median(map(sub, times_s[1:], times_s)) if len(times_s) > 1 else 0.0
    found = []
    for k in range(_LEAST_WIDE + _NEIGHBOURS, len(smooth_k) - _LEAST_WIDE - _NEIGHBOURS):
        reach = min(_WIDE + _NEIGHBOURS, k, len(smooth_k) - 1 - k)
        wide = reach - _NEIGHBOURS
        if times_s[k + reach] - times_s[k - reach] > longest_s:
            continue
        before, here, after = smooth_k[k - wide], smooth_k[k], smooth_k[k + wide]
        goes_on_s = times_s[k + wide] - times_s[k]
        fell, falls = log(before / here) / (times_s[k] - times_s[k - wide]), log(here / after) / goes_on_s
        found.append((k, here * exp(-fell * goes_on_s) - after, falls > _FASTER * fell))
    limit_k = max(_LEAST_K, _DEVIATIONS * _wander_k([colder_k for _, colder_k, _ in found]))
    return next((k for k, colder_k, is_faster in found if is_faster and colder_k > limit_k), len(above_k))


def _wander_k(values_k: Sequence[float]) -> float:
    """Return the deviation of what readings a stretch apart differ by [K]; 0 where that is not known."""
    apart = [later - earlier for earlier, later in zip(values_k, values_k[_WIDE:], strict=False)]
    if len(apart) < _ENOUGH:
        return 0.0
    usual = median(apart)
    return _MAD_TO_SD / sqrt(2.0) * median(abs(each - usual) for each in apart)
