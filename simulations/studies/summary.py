"""Many firings' scores summed up, line by line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from simulations.studies.scoring import QUIET_ROWS, Answer, Score


@dataclass(frozen=True, slots=True)
class Spread:
    """Least, middle and 95th percentile of some figures; None where there is none."""

    least: float | None
    median: float | None
    p95: float | None


def spread(values: Iterable[float | None]) -> Spread:
    """Return the spread of the values that are not None (nearest rank)."""
    known = sorted(value for value in values if value is not None)
    if not known:
        return Spread(None, None, None)
    last = len(known) - 1
    return Spread(known[0], known[round(last * 0.5)], known[round(last * 0.95)])


@dataclass(frozen=True, slots=True)
class Line:
    """What became of one thing that should have been said, over all firings of a row.

    Attributes
    ----------
    row, kind
        The row, and the best name of what should have been said.
    asked, found, ranked, named
        How often it should have been said; was; at the right rank; by the right name.
    raised, woke
        Delays [min].
    lost_k
        How far the temperature had moved from the onset until it was told [K].
    unexpected_wakes
        Wakes in these firings that were not expected; of a firing whose fault never bit none counts.
    """

    row: str
    kind: str
    rank: str
    asked: int
    found: int
    ranked: int
    named: int
    raised: Spread
    woke: Spread
    lost_k: Spread
    unexpected_wakes: int


def lines(scores: Sequence[Score]) -> list[Line]:
    """Return a line for each row, what should have been said in it and the rank of that, in the order they come."""
    sorts: dict[tuple[str, str, str], list[Answer]] = {}
    wakes: dict[str, int] = {}
    for score in scores:
        wakes[score.row] = wakes.get(score.row, 0) + (len(score.wakes) if score.is_as_meant else 0)
        for answer in score.answers:
            sorts.setdefault((score.row, answer.kinds[0], answer.rank), []).append(answer)
    return [_line(row, kind, answers, wakes[row]) for (row, kind, _), answers in sorts.items()]


def _line(row: str, kind: str, answers: list[Answer], unexpected_wakes: int) -> Line:
    """Return the line of a row and a kind of alert."""
    found = [answer for answer in answers if answer.raised_min is not None]
    return Line(
        row, kind, answers[0].rank, len(answers), len(found), sum(a.is_ranked_right for a in found),
        sum(a.is_named_right for a in found), spread(a.raised_min for a in found),
        spread(a.woke_min for a in found), spread(a.lost_k for a in found), unexpected_wakes,
    )


@dataclass(frozen=True, slots=True)
class Quiet:
    """How quiet a watcher was where nothing was wrong.

    Attributes
    ----------
    wakes_per_1000, looks_per_firing, woken_per_1000
        Wakes in 1,000 firings, looks a firing, and firings with any wake in 1,000.
    within_3, within_10
        Shares of the boundaries.
    missing, extra
        Parts a firing that were not found, and that never were.
    """

    row: str
    firings: int
    wakes_per_1000: float
    woken_per_1000: float
    looks_per_firing: float
    boundaries: int
    within_3: float
    within_10: float
    missing: float
    extra: float


def quiet(row: str, scores: Sequence[Score]) -> Quiet:
    """Return how quiet the watcher was in these firings, and how well it followed them."""
    n = max(1, len(scores))
    boundaries = sum(s.boundaries for s in scores)
    return Quiet(
        row, len(scores), 1000 * sum(len(s.wakes) for s in scores) / n, 1000 * sum(bool(s.wakes) for s in scores) / n,
        sum(len(s.looks) for s in scores) / n, boundaries, sum(s.within_3 for s in scores) / max(1, boundaries),
        sum(s.within_10 for s in scores) / max(1, boundaries), sum(s.missing for s in scores) / n,
        sum(s.extra for s in scores) / n,
    )


def kinds_of(scores: Iterable[Score], rank: str) -> dict[str, int]:
    """Return how often each kind woke ("wake") or was to be looked at ("look") where it was not expected."""
    counts: dict[str, int] = {}
    for score in scores:
        for kind, _ in score.wakes if rank == "wake" else score.looks:
            counts[kind] = counts.get(kind, 0) + 1
    return dict(sorted(counts.items(), key=lambda entry: -entry[1]))


def woken(scores: Iterable[Score]) -> list[Score]:
    """Return the firings with nothing wrong, as meant, that woke somebody all the same."""
    return [score for score in scores if score.wakes and score.row in QUIET_ROWS and score.is_as_meant]


def missed(scores: Iterable[Score]) -> list[Score]:
    """Return the firings in which something that should have been said was not, or not loud enough."""
    return [
        score for score in scores
        if any(a.raised_min is None or (a.rank == "wake" and a.woke_min is None) for a in score.answers)
    ]
