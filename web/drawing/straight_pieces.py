"""A line drawn with as few points as show it. Pure."""

from __future__ import annotations

from collections.abc import Sequence

Point = tuple[float, float]

WITHIN_PX = 0.3
"""A drawn line may pass a point that is left out at this distance, up or down [px]. [chosen: less than half a dot of
a phone's screen]"""


def straight_pieces(points: Sequence[Point], within: float = WITHIN_PX) -> list[Point]:
    """Return those of ``points`` whose straight connections pass within ``within`` of all the others.

    Parameters
    ----------
    points
        From left to right.
    within
        Largest distance, measured straight up or down.

    Notes
    -----
    One pass: from the last point kept, the slopes that still pass every point since are narrowed; a point whose own
    slope lies outside of them ends the piece before it.
    """
    if len(points) < 3:
        return list(points)
    kept = [points[0]]
    lowest, highest = float("-inf"), float("inf")
    last = points[0]
    for x, y in points[1:]:
        x0, y0 = kept[-1]
        if last != kept[-1] and (x <= x0 or not lowest <= (y - y0) / (x - x0) <= highest):
            kept.append(last)
            x0, y0 = last
            lowest, highest = float("-inf"), float("inf")
        if x <= x0 and abs(y - y0) > within:  # straight up or down: no slope passes it
            lowest, highest = float("inf"), float("-inf")
        elif x > x0:
            lowest = max(lowest, (y - within - y0) / (x - x0))
            highest = min(highest, (y + within - y0) / (x - x0))
        last = (x, y)
    kept.append(last)
    return kept
