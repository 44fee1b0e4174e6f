"""What is told of a kiln that changes: how much, since when, how sure, and what to look at."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from math import exp

from daemon.firing.units import Units
from daemon.kiln.wear.causes import Cause, Difference
from daemon.kiln.wear.change import LEAST_BEFORE, LEAST_SINCE
from daemon.kiln.wear.judged import BAND_DEVIATIONS, Finding, can_judge_elements, days_left, percent
from daemon.kiln.wear.shown import Shown

_LEAST_SHOWN, _MOST_SHOWN = 0.6, 1.0
"""Between so much and so much of a greater loss is seen in the falls, as a logarithm. [tuned: the first as in
daemon.kiln.wear.causes; all of it is seen where the way from the chamber to the walls stays as it was]"""
_MENTIONED = 0.05
"""A cause as likely as this is named. [chosen: one in twenty]"""
_SOON_DAYS, _MONTH_DAYS, _YEAR_DAYS, _FAR_DAYS = 45, 30.4, 365.25, 3 * 365.25
"""From when on months and years are told, and beyond which nothing is [days]. [chosen: a line that is drawn on
further than some times its own length says nothing]"""
_MAINS_DAYS = 21.0
"""Less power since fewer days than this may be the mains [days]. [chosen: a weak mains is noticed, or comes back]"""
_NAMES: dict[Cause, str] = {
    "elements": "the elements", "lining": "the lining, the lid or a seal",
    "probe": "the thermocouple or the controller’s own sensor", "chance": "chance"}
HEADLINES: dict[Cause, str] = {
    "elements": "its elements give less power", "lining": "it loses more heat than before",
    "probe": "its holds read differently than before"}
"""A change, as a message begins after the kiln’s name."""
_LICENSED = "The kiln’s manual and the local code come first."


def wear_lines(shown: Sequence[Shown], days: Sequence[date], found: Finding | None, words: Units) -> Iterator[str]:
    """Yield what is told of a kiln’s wear, a sentence or two a line; the first is the change where there is one.

    Parameters
    ----------
    shown, days
        What each firing shows, and its day.
    found
        The change.
    words
        The owner's unit.
    """
    if found is not None and found.cause != "chance":
        yield _change(found, days, words)
        yield _how_sure(found)
        yield _act(found.cause)
    numbers = [float((day - days[0]).days) for day in days]
    left = days_left(shown, numbers)
    if left is not None and left < _FAR_DAYS:
        what = "" if found is not None and found.cause == "lining" else "The elements lose power. "
        yield f"{what}At this rate the climb to {words.temp(shown[-1].top_c)} fails in {_long(left)}."
    is_enough = len(shown) >= LEAST_BEFORE + LEAST_SINCE
    if is_enough and not can_judge_elements(shown) and (found is None or found.cause != "elements"):
        yield _unjudged(shown)


def _change(found: Finding, days: Sequence[date], words: Units) -> str:
    since, by = days[found.since], found.difference
    when = f"Since {since.day} {since:%B %Y}"
    if found.cause == "probe":
        least, most = sorted(abs(by.by + side * BAND_DEVIATIONS * by.off) for side in (-1, 1))
        way = "higher" if by.by > 0 else "lower"
        return (f"{when} the thermocouple reads about {words.difference(abs(by.by))} {way} in the holds than before "
                f"({words.difference(least)} to {words.difference(most)}).")
    if found.cause == "lining":
        if found.channel != "loss":
            return f"{when} the kiln loses more heat than before: it climbs more slowly and cools faster."
        _, low, _ = percent(Difference(by.by / _MOST_SHOWN, by.off / _MOST_SHOWN))
        _, _, high = percent(Difference(by.by / _LEAST_SHOWN, by.off / _LEAST_SHOWN))
        return f"{when} the kiln loses more heat than before ({max(0.0, low):.0f} to {high:.0f} % more)."
    if found.channel != "power":
        return f"{when} the elements give less power than before."
    middle, low, high = (100 * (1 - exp(by.by + side * BAND_DEVIATIONS * by.off)) for side in (0, 1, -1))
    mains = " Weak mains would look the same." if (days[-1] - since).days < _MAINS_DAYS else ""
    return f"{when} the elements give about {middle:.0f} % less power than before ({low:.0f} to {high:.0f} %).{mains}"


def _how_sure(found: Finding) -> str:
    """Return how likely the cause is, and what else it may be."""
    others = [_NAMES[cause] for cause, share in sorted(found.chances.items(), key=lambda pair: -pair[1])
              if cause not in (found.cause, "chance") and share >= _MENTIONED]
    share = found.chances[found.cause]
    likely = "almost surely " if share > 1 - _MENTIONED else ""
    odds = "" if likely else f" in about {10 * share:.0f} of 10 such cases"
    other = f", else {' or '.join(others)}" if others else ""
    return f"If it is not chance, it is {likely}{_NAMES[found.cause]}{odds}{other}."


def _act(cause: Cause) -> str:
    """Return what to look at, with its caution."""
    if cause == "elements":
        return ("Look at the elements when you can, with the kiln cold and isolated from the mains. A licensed "
                f"person tests and changes them. {_LICENSED}")
    if cause == "lining":
        return ("Look for cracks, and for gaps at the lid or the plug, with the kiln cold and isolated from the "
                f"mains. The dust of a lining harms lungs: do not rub or break it. {_LICENSED}")
    return ("See whether it was moved, and compare it with a known temperature. If the controller’s sensor drifted, "
            f"the glass is fired hotter or cooler than planned. {_LICENSED}")


def _unjudged(shown: Sequence[Shown]) -> str:
    many = sum(firing.power is not None for firing in shown)
    seen = "No climb" if not many else f"Only {many} of {len(shown)} firings had a climb that"
    rest = "took all the power" if many else "that is kept took all the power"
    return f"{seen} {rest}, so wear of the elements can't be told yet."


def _long(days: float) -> str:
    if days < _SOON_DAYS:
        return "about a month"
    if days < _YEAR_DAYS * 0.9:
        return f"about {days / _MONTH_DAYS:.0f} months"
    return "about a year" if days < 1.5 * _YEAR_DAYS else f"about {days / _YEAR_DAYS:.0f} years"
