"""Where the readings jump as the controller goes on in its program: a mark sharper than a bend of two lines.

At every new part some controllers begin their integral at nothing. The power breaks off, and the readings drop by
some kelvin within a minute and creep back while the integral grows again. Two lines that have to meet then meet
minutes before the drop, and the follower sees the next part only when the kiln has caught up. Two lines that need not
meet find the drop itself.
"""

from __future__ import annotations

from daemon.firing.trace.recent import FILTERED_VARIANCE_SHARE, Trail

_JUMP_LEAST_K, _JUMP_SDS, _JUMP_MOST_K = 3.0, 1.5, 30.0
"""A jump is at least so high, in kelvin and in standard deviations of the noise besides; more than the last is a lid
[K]. [tuned: clean firings, seeds 1081000000 to 1081000149]"""
_JUMP_CLEARLY = 0.5
"""Beyond the noise, two lines that need not meet leave no more than this share of what two leave that meet [squares].
[tuned: clean firings, seeds 1081000000 to 1081000149]"""
_JUMP_SURE = 25.0
"""What two lines that meet leave beyond the noise is at least so much [noise variances].
[derived: a jump by five standard errors gains 5²]"""
_JUMP_AROUND_S, _JUMP_AWAY_S = 480.0, 360.0
"""Lines are drawn over so long before and after a time, and a jump is sought so far from it [s].
[tuned: clean firings, seeds 1081000000 to 1081000149]"""
_SHOWN_S = 60.0
"""Air and a sheathed probe show so long after it that the power broke off [s]. What the kiln had reached is read
there, clear of the drop. [common practice]"""
_EACH = 4
"""Each line of a jump needs so many readings. [derived: three have residuals, and one may be the jump itself]"""
_MOST_TRIED = 60
"""So many times are tried in a window. [chosen: bounds the cost]"""


def jump_s(trail: Trail, about_s: float, from_s: float, to_s: float) -> float | None:
    """Return when the readings jump near ``about_s`` [s], between two times; None where they do not.

    Where an on/off controller swings, every tooth would be a jump, so none is sought.
    """
    if trail.swings_k > 0.0:
        return None
    i = trail.index_at(max(from_s, about_s - _JUMP_AWAY_S - _JUMP_AROUND_S, trail.unbroken_from_s))
    j = trail.index_at(min(to_s, about_s + _JUMP_AWAY_S + _JUMP_AROUND_S))
    first, last = max(trail.index_at(about_s - _JUMP_AWAY_S), i + _EACH), min(
        trail.index_at(about_s + _JUMP_AWAY_S), j - _EACH)
    whole = trail.line_between(i, j)
    if whole is None or first >= last:
        return None
    tried = range(first, last, max(1, (last - first) // _MOST_TRIED))
    noise = FILTERED_VARIANCE_SHARE * trail.noise_k**2
    white = noise * (j - i)
    meeting = whole.sse - max(trail.bend_gain(i, j, k, whole) for k in tried) - white
    if meeting < _JUMP_SURE * noise:
        return None
    best = min(tried, key=lambda k: _apart(trail, i, j, k))
    before, after = trail.line_between(i, best), trail.line_between(best, j)
    if before is None or after is None or _apart(trail, i, j, best) - white > _JUMP_CLEARLY * meeting:
        return None
    high_k = abs(after.at(trail.times[best]) - before.at(trail.times[best]))
    if not _JUMP_LEAST_K + _JUMP_SDS * trail.noise_k < high_k < _JUMP_MOST_K:
        return None
    return max(from_s, trail.times[best] - max(_SHOWN_S, trail.step_s))


def _apart(trail: Trail, i: int, j: int, k: int) -> float:
    """Return the sum of squares that two lines leave which need not meet at reading ``k`` [K²]."""
    before, after = trail.line_between(i, k), trail.line_between(k, j)
    return before.sse + after.sse if before is not None and after is not None else float("inf")
