"""The path of the follower: which states it visited, one after another, and what of that was a real part."""

from __future__ import annotations

from typing import NamedTuple

SHORTEST_HOLD_S = 90.0
"""A shorter stay in a part is the kiln passing through [s]. [tuned: by trial on the bench, study not kept]"""
LONGEST_EXCURSION_S = 3600.0
"""A path that leaves a part and comes back to it within this never left it [s]: a power cut or an open lid.
[tuned: by trial on the bench, study not kept]"""


class Visit(NamedTuple):
    """A stay in one state, linked to the stay before it."""

    state: int
    """0 before the plan, 1…n its parts, n + 1 after it."""
    start_s: float
    before: Visit | None


def path_to(visit: Visit | None) -> list[Visit]:
    """Return the path that ends with ``visit``, oldest first."""
    found = []
    while visit is not None:
        found.append(visit)
        visit = visit.before
    return found[::-1]


def without_excursions(path: list[Visit], parts: int, now_s: float) -> list[Visit]:
    """Return the path without parts that were only passed through, and without excursions that came back.

    Parameters
    ----------
    path
        The visits, oldest first.
    parts
        How many parts the plan has.
    now_s
        Now, when the last visit still goes on [s].
    """
    kept: list[Visit] = []
    for i, visit in enumerate(path):
        end_s = path[i + 1].start_s if i + 1 < len(path) else now_s
        earlier = next((j for j in range(len(kept) - 1, -1, -1) if kept[j].state == visit.state), None)
        if earlier is not None and 1 <= visit.state <= parts:
            after = kept[earlier + 1] if earlier + 1 < len(kept) else visit
            jumped = after.state > visit.state + 1 or after is visit
            if jumped and visit.start_s - after.start_s <= LONGEST_EXCURSION_S:
                del kept[earlier + 1:]
                continue
        skipped = _where_passed_over(kept, visit, parts)
        if skipped is not None:
            began_s = kept[skipped].start_s
            del kept[skipped:]
            kept.append(Visit(visit.state, began_s, kept[-1]))
            continue
        if i + 1 < len(path) and end_s - visit.start_s < SHORTEST_HOLD_S and 1 <= visit.state <= parts:
            continue
        kept.append(visit)
    return kept


def _where_passed_over(kept: list[Visit], visit: Visit, parts: int) -> int | None:
    """Return which of the visits kept so far passed over the part of ``visit``, at most an hour before; else None.

    A kiln that falls past its anneal hold and comes back to it was in the hold's time from where it passed the level:
    the dip below is no part of the plan. (Weighed: a plan begun again. It goes back to a part that it had been in.)
    """
    if any(each.state == visit.state for each in kept):
        return None
    for j in range(1, len(kept)):
        if kept[j - 1].state < visit.state < kept[j].state <= parts:
            return j if visit.start_s - kept[j].start_s <= LONGEST_EXCURSION_S else None
    return None
