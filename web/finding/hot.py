"""Which of the last firings by a plan, or of a kind, peaked above the plan's top."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import sqlite_utils
from markupsafe import Markup

from daemon.errors import BadInput
from daemon.firing.plan.plan import rate_to_unit, to_unit
from daemon.firing.tracking.offset_history import OffsetBands, usual_offset_at
from daemon.lifecycle.broke_off import SHORT_OF_TOP_K
from daemon.lifecycle.setup_from_store import usual_of
from daemon.store import plans
from daemon.store.finding import figures
from daemon.store.finding.figures import Fired
from daemon.store.firings import Firing
from web import words
from web.drawing.dot_chart_svg import NARROW, WIDE, Axis, Dot, dots_svg
from web.pieces.next_firing_advice import SHAPED_C
from web.request.context import settings
from web.times import full_date

LAST = 10
"""Firings looked at. [chosen: as the question is asked, "which of the last ten"]"""
USUAL_LIMIT_K = 10.0
"""From so far above its plan's top on, a firing is called hot where nothing else is asked [K]. [chosen: as the
question is asked, "10 °C hot"]"""
_LEAST_SPAN_K = 24.0
"""The axis spans at least this [K]. [chosen: twice what is called hot, and a little]"""
_LEAST_DRAWN = 2
"""One firing is told in words. [chosen: a drawing is for comparing]"""
_MOST_PLANS = 300
"""Versions of plans that are read for the firings of a kind, those fired most first. [chosen: bounds the work of a
request]"""


@dataclass(frozen=True, slots=True)
class Kind:
    """Firings of one kind, by the highest temperature of their plans [°C]: from ``low_c`` to below ``high_c``."""

    name: str
    low_c: float
    high_c: float

    def one_and_many(self) -> tuple[str, str]:
        """Return how one of them and several are called."""
        return self.name.removesuffix("s"), self.name

    def words(self, unit: str) -> str:
        """Return how it is offered."""
        low, high = (f"{to_unit(c, unit):.0f}" for c in (self.low_c, self.high_c))
        if self.high_c == float("inf"):
            return f"all {self.name}: top {low} °{unit} and more"
        return f"all {self.name}: top {low} to {high} °{unit}"


KINDS = {"slumps": Kind("slumps", *SHAPED_C), "fuses": Kind("fuses", SHAPED_C[1], float("inf"))}
"""The kinds, by how they stand in the address."""


@dataclass(frozen=True, slots=True)
class Row:
    """One firing: its date and its peak in words.

    ``state`` is "hot", "not" (hot), "short" (of its top) or "not judged". ``dot`` is its place in the drawing, the
    earliest at 0; None where it is not drawn.
    """

    number: int
    title: str
    date: str
    figure: str
    state: str
    dot: int | None


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer: a sentence, what was taken off, the firings, and their drawing; empty where there is none."""

    sentence: str
    usual: str
    rows: Sequence[Row]
    limit: str
    wide: Markup
    narrow: Markup


@dataclass(frozen=True, slots=True)
class _One:
    """A firing with its plan's top, its peak and how usually its thermocouple reads [°C, K]."""

    firing: Firing
    when: datetime
    top_c: float
    peak_c: float | None
    usual_k: float | None

    def over(self, unit: str) -> int | None:
        """Return how far its peak was above the top, less the usual, as the reader would reckon it."""
        if self.peak_c is None or self.peak_c <= self.top_c - SHORT_OF_TOP_K:
            return None
        return (round(to_unit(self.peak_c, unit)) - round(to_unit(self.top_c, unit))
                - round(rate_to_unit(self.usual_k or 0.0, unit)))


def answer(db: sqlite_utils.Database, kiln_id: int, fired: Sequence[Fired], chosen: str, limit: float,
           unit: str) -> Answer:
    """Return the answer.

    Parameters
    ----------
    db, kiln_id
        The record, and the kiln whose firings are meant.
    fired
        Its plans, as ``figures.fired`` gives them.
    chosen
        A plan's title, or a key of KINDS.
    limit
        From so many degrees above on a firing is hot, in ``unit``.
    unit
        "C" or "F".
    """
    tops_c = _tops_c(db, fired, chosen)
    found = _found(db, kiln_id, tops_c)
    drawn = [one for one in reversed(found) if one.over(unit) is not None]
    rows = [_row(one, limit, unit, drawn.index(one) if one in drawn else None) for one in found]
    called = KINDS[chosen].one_and_many() if chosen in KINDS else (f"firing by “{chosen}”", f"firings by “{chosen}”")
    size = f"{limit:g} °{unit}"
    wide, narrow = (_drawn(drawn, limit, unit, at) for at in (WIDE, NARROW))
    return Answer(words.bound(_sentence(rows, *called, size)), words.bound(_usual(found, unit)), rows,
                  words.bound(size), wide, narrow)


def _tops_c(db: sqlite_utils.Database, fired: Sequence[Fired], chosen: str) -> dict[int, float]:
    """Return the highest temperature of each version of the plans that are meant [°C], by its number."""
    kind = KINDS.get(chosen)
    numbers = [number for one in fired if kind is not None or one.title == chosen for number in one.plan_ids]
    found = {}
    for number in numbers[:_MOST_PLANS]:
        stored = plans.plan(db, number)
        try:
            top_c = None if stored is None else stored.parsed().highest_c
        except BadInput:  # what was written by a newer version, or was damaged, is left out
            continue
        if top_c is not None and (kind is None or kind.low_c <= top_c < kind.high_c):
            found[number] = top_c
    return found


def _found(db: sqlite_utils.Database, kiln_id: int, tops_c: dict[int, float]) -> list[_One]:
    """Return the latest firings by these plans, the latest first.

    What is usual is what the firings before the latest one on the same thermocouple showed.
    """
    latest = figures.latest_by(db, kiln_id, list(tops_c), LAST)
    judged = figures.figures_of(db, [firing.firing_id for firing in latest])
    usual: dict[int, OffsetBands] = {}
    found = []
    for firing in latest:
        bands = usual.get(firing.probe_id)
        if bands is None:
            bands = usual[firing.probe_id] = usual_of(db, firing)
        top_c = tops_c[firing.plan_id or 0]
        kept = judged.get(firing.firing_id)
        found.append(_One(firing, firing.started_utc.astimezone(settings().zone), top_c,
                          None if kept is None else kept.peak_c, usual_offset_at(bands, top_c)))
    return found


def _row(one: _One, limit: float, unit: str, dot: int | None) -> Row:
    over, firing = one.over(unit), one.firing
    top = f"top {to_unit(one.top_c, unit):.0f} °{unit}"
    if one.peak_c is None:
        said, state = f"{top}, peak not known", "not judged"
    elif over is None:
        said, state = f"peak {to_unit(one.peak_c, unit):.0f}, {top}: did not reach it", "short"
    else:
        size = f"{abs(over)} °{unit} {'over' if over > 0 else 'under'}" if over else "as planned"
        usual = round(rate_to_unit(one.usual_k or 0.0, unit))
        less = f" {'less' if usual > 0 else 'and'} the usual {abs(usual)}" if usual else ""
        said, state = f"{size} (peak {to_unit(one.peak_c, unit):.0f}{less}, {top})", "hot" if over >= limit else "not"
    return Row(firing.firing_id, firing.title, words.bound(full_date(one.when.date())), words.bound(said), state,
               dot)


def _sentence(rows: Sequence[Row], one: str, many: str, size: str) -> str:
    """Return how many of the firings went hot; ``one`` and ``many`` call them: "slump", "slumps"."""
    counted = [row for row in rows if row.state in ("hot", "not")]
    hot, left_out = sum(row.state == "hot" for row in counted), len(rows) - len(counted)
    if not counted:
        return f"No {one} has reached its top yet."
    last = f"the last {len(counted)} {many}"
    how = f"{size} or more over the plan’s top"
    if len(counted) == 1:
        said = f"The only {one} {'went' if hot else 'did not go'} {how}."
    elif not hot:
        said = f"None of {last} went {how}."
    else:
        said = f"{'All' if hot == len(counted) else 'One' if hot == 1 else hot} of {last} went {how}."
    if left_out:
        said += f" {'One more' if left_out == 1 else f'{left_out} more'} did not reach the top, or was not judged."
    return said


def _usual(found: Sequence[_One], unit: str) -> str:
    """Return what was taken off the peaks."""
    known = {round(rate_to_unit(one.usual_k, unit)) for one in found if one.usual_k is not None}
    if not found:
        return ""
    if not known:
        return "How this thermocouple usually reads against the plan is not known yet. The peaks are as it read them."
    if len(known) > 1 or any(one.usual_k is None for one in found):
        return "How the thermocouple usually reads there is taken off where it is known."
    (usual,) = known
    if not usual:
        return "This thermocouple usually reads as planned at such temperatures."
    way = "above" if usual > 0 else "below"
    return f"This thermocouple usually reads {abs(usual)} °{unit} {way} plan at such temperatures. " \
           f"That is {'taken off' if usual > 0 else 'added'}."


def _drawn(drawn: Sequence[_One], limit: float, unit: str, size: tuple[int, int]) -> Markup:
    if len(drawn) < _LEAST_DRAWN:
        return Markup()
    dots = []
    for one in drawn:
        over = one.over(unit) or 0
        said = words.bound(f"{full_date(one.when.date())}: {over} °{unit} over".replace("-", "−"))
        dots.append(Dot(one.when, float(over), said, is_open=over < limit))
    axis = Axis(f"°{unit} over or under the plan’s top", rate_to_unit(_LEAST_SPAN_K, unit), base=0.0, limit=limit)
    return Markup(dots_svg(dots, (), axis, size))
