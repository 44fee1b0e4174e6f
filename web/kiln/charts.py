"""The charts of the kiln's page: what each shows, in a sentence, as a drawing and as a table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from flask import url_for
from markupsafe import Markup

from daemon.firing.plan.plan import rate_to_unit
from daemon.store.wear.part_changes import PartChange
from web import words
from web.drawing.dot_chart_svg import NARROW, WIDE, Axis, Change, Dot, dots_svg
from web.kiln.drift import LEAST_FIRINGS, Point, moved
from web.times import full_date

LEAST_DRAWN = 3
"""Fewer firings are told in words. [chosen: two dots are a line, whatever they are]"""
WORTH_K, WORTH_SHARE = 4.0, 0.08
"""From here on a drift is worth a word: of the probe [K], and of the climbs. [common practice]"""
_LEAST_SPAN_K, _LEAST_SPAN_PERCENT = 12.0, 30.0
"""What an axis spans at least: of differences [K], and of climbs [%].
[chosen: three times what is worth a word, so that less looks like less]"""

_ALL = "over these firings"
"""How the time of all firings is called."""


@dataclass(frozen=True, slots=True)
class Row:
    """One firing: its date and figure in words, and where it stands."""

    number: int
    date: str
    figure: str
    href: str


@dataclass(frozen=True, slots=True)
class Chart:
    """One chart as the page shows it; ``wide`` and ``narrow`` are empty where it has too few firings."""

    id: str
    title: str
    sentence: str
    rows: Sequence[Row]
    wide: Markup
    narrow: Markup
    brief: str = ""
    """Its latest figure, beside the heading where the chart is folded."""
    is_news: bool = False
    """Whether it shows a change that one ought to see: such a chart is never folded."""


def chart(name: str, title: str, sentence: str, points: Sequence[tuple[int, Dot]], changes: Sequence[Change],
          axis: Axis, *, is_news: bool = False) -> Chart:
    """Return a chart.

    Parameters
    ----------
    name
        Its id on the page.
    title, sentence
        Its heading, and what it shows and whether anything changed.
    points
        Number of the firing and its dot, in order of time.
    changes, axis
        As ``dots_svg`` takes them.
    is_news
        Whether it shows a change that one ought to see.
    """
    dots = [dot for _, dot in points]
    brief = dots[-1].words
    rows = [Row(number, full_date(dot.when.date()), dot.words, url_for("firing.show", firing_id=number))
            for number, dot in points]
    if len(dots) < LEAST_DRAWN:
        sentence += f" {'One firing' if len(dots) == 1 else 'Two firings'} so far: a chart is drawn from three on."
        return Chart(name, title, sentence, rows, Markup(), Markup(), brief, is_news)
    dots = [replace(dot, words=f"{row.date}: {dot.words}") for dot, row in zip(dots, rows, strict=True)]
    wide, narrow = (Markup(dots_svg(dots, changes, axis, size)) for size in (WIDE, NARROW))
    return Chart(name, title, sentence, rows, wide, narrow, brief, is_news)


def marks(changes: Sequence[PartChange], kind: str) -> list[Change]:
    """Return the changes of one part as the chart shows them."""
    return [Change(one.day, f"new {kind}") for one in changes if one.part == kind]


def difference_chart(name: str, title: str, points: Sequence[Point], changes: Sequence[PartChange],
                     unit: str) -> Chart:
    """Return how the probe read against the plan's holds in one band."""
    size = rate_to_unit(1.0, unit)
    mine = marks(changes, "thermocouple")
    latest = f"In the latest firing it read {against_plan(points[-1].value, unit)}."
    return chart(
        name, title, f"{latest} {_drift_words(points, mine, unit)}",
        [(p.firing_id, Dot(p.when, p.value * size, against_plan(p.value, unit))) for p in points], mine,
        Axis(f"°{unit} above or below plan", _LEAST_SPAN_K * size, base=0.0),
        is_news=abs(moved(since_change(points, mine)[0]) or 0.0) >= WORTH_K)


def climb_chart(points: Sequence[Point], changes: Sequence[PartChange]) -> Chart:
    """Return how long climbs took against what was planned."""
    mine = marks(changes, "elements")
    latest = words.bound(f"In the latest firing the climbs took {points[-1].value * 100:.0f} % of the planned time.")
    return chart(
        "climb", "How long its climbs take", f"{latest} {_climb_words(points, mine)}",
        [(p.firing_id, Dot(p.when, p.value * 100, words.bound(f"{p.value * 100:.0f} %"))) for p in points], mine,
        Axis("% of the planned time", _LEAST_SPAN_PERCENT, base=100.0),
        is_news=(moved(since_change(points, mine)[0]) or 0.0) > WORTH_SHARE)


def against_plan(off_k: float, unit: str) -> str:
    """Return a difference in words: ``3 °C below plan``, ``as planned``."""
    size = rate_to_unit(off_k, unit)
    return words.bound(f"{abs(size):.0f} °{unit} {'above' if size > 0 else 'below'} plan") if abs(size) >= 0.5 \
        else "as planned"


def since_change(points: Sequence[Point], changes: Sequence[Change]) -> tuple[Sequence[Point], str]:
    """Return the points since the latest change, and how to call that time."""
    if not changes:
        return points, _ALL
    latest = changes[-1]
    return [p for p in points if p.when.date() >= latest.day], f"since the {latest.words}"


def _drift_words(points: Sequence[Point], changes: Sequence[Change], unit: str) -> str:
    """Return how far the probe's reading has moved, in words."""
    mine, when = since_change(points, changes)
    drift = moved(mine)
    if drift is None:
        return _too_few(mine, when)
    if abs(drift) < WORTH_K:
        return f"It has moved by less than {words.bound(f'{rate_to_unit(WORTH_K, unit):.0f} °{unit}')} {when}."
    size = words.bound(f"{abs(rate_to_unit(drift, unit)):.0f} °{unit}")
    return (f"It has moved {size} {'up' if drift > 0 else 'down'} {when}. Look whether the probe sits where it did, "
            "the kiln cold; compare it with a new one in place.")


def _climb_words(points: Sequence[Point], changes: Sequence[Change]) -> str:
    """Return whether the kiln still follows its plans, in words."""
    mine, when = since_change(points, changes)
    drift = moved(mine)
    if drift is None:
        return _too_few(mine, when)
    if drift > WORTH_SHARE:
        share = words.bound(f"{drift * 100:.0f} %")
        return (f"They take {share} longer than at first {when}. Elements may be tiring, or the mains low: measuring "
                "both is for a licensed person, the kiln cold and isolated.")
    return f"The kiln follows its plans as it did {when}."


def _too_few(points: Sequence[Point], when: str) -> str:
    """Return that it takes more firings to tell."""
    so_far = f"so far there are {len(points)}" if when == _ALL else f"{when} there are {len(points)}"
    return f"It takes {LEAST_FIRINGS} firings to tell whether that changes; {so_far}."
