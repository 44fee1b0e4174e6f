"""What went with a cleared haze, in counts with their uncertainty: what goes together, and no cause.

The firings of hazy pieces are cut into a cooler, a middle and a hotter third by their peaks. What came of them has no
part in where the cuts are: a line that parts cleared from hazy best would find one in pure chance, too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import comb
from typing import NamedTuple

from daemon.firing.plan.plan import to_unit

LEAST = 10
"""From so many firings on the thirds are compared. [chosen: three in each third at least]"""
_SURE = 0.95
"""The true share lies in the interval that is said with at least this probability [1]. [common practice]"""
_FINE = 1e-6
"""The ends of the interval are found so exactly [1]. [chosen: finer than per cents]"""


class Refire(NamedTuple):
    """A firing of pieces that were hazy before it."""

    peak: int
    """Its peak as it is shown, in the owner's unit."""
    above_min: float
    """How long it was above the temperature that is asked about [min]."""
    cleared: bool
    """Whether the haze of all its hazy pieces cleared."""


class Thirds(NamedTuple):
    """Firings by their peaks; the middle is empty where there are only two different groups."""

    cooler: Sequence[Refire]
    middle: Sequence[Refire]
    hotter: Sequence[Refire]


def thirds(found: Sequence[Refire]) -> Thirds | None:
    """Return the firings in thirds, cut between different peaks; None where all peaked alike."""
    by_peak = sorted(found)
    between = [n for n in range(1, len(by_peak)) if by_peak[n - 1].peak != by_peak[n].peak]
    if not between:
        return None
    low = min(between, key=lambda n: abs(n - len(by_peak) / 3))
    high = min(between, key=lambda n: (abs(n - 2 * len(by_peak) / 3), -n))
    if high <= low:
        low = high = min(between, key=lambda n: abs(n - len(by_peak) / 2))
    return Thirds(by_peak[:low], by_peak[low:high], by_peak[high:])


def share_between(cleared: int, of: int) -> tuple[float, float]:
    """Return between what the true share lies where ``cleared`` of ``of`` firings cleared [1].

    The exact interval for a binomial share (Clopper & Pearson, Biometrika 26, 1934): its ends are the shares at which
    so many, or more, and so few, or fewer, would be seen once in forty times. For all of n its lower end is
    0.025^(1/n).
    """
    tail = (1 - _SURE) / 2

    def at_least(share: float) -> float:
        return sum(comb(of, k) * share**k * (1 - share)**(of - k) for k in range(cleared, of + 1))

    def at_most(share: float) -> float:
        return sum(comb(of, k) * share**k * (1 - share)**(of - k) for k in range(cleared + 1))

    low = 0.0 if cleared == 0 else _where(lambda share: at_least(share) < tail)
    high = 1.0 if cleared == of else _where(lambda share: at_most(share) > tail)
    return low, high


def _where(is_below: Callable[[float], bool]) -> float:
    """Return up to where between 0 and 1 something holds that holds from 0 on."""
    low, high = 0.0, 1.0
    while high - low > _FINE:
        middle = (low + high) / 2
        low, high = (middle, high) if is_below(middle) else (low, middle)
    return (low + high) / 2


def sentence(found: Sequence[Refire], limit_c: float, unit: str) -> str:
    """Return what peak and time went with a cleared haze.

    Parameters
    ----------
    found
        The firings of hazy pieces of one glass in one kiln.
    limit_c
        The temperature that their minutes are counted above [°C].
    unit
        "C" or "F".
    """
    if not found:
        return ("No hazy piece of this glass was fired again in this kiln yet, with “clear” or “haze” noted "
                "afterwards.")
    cleared = sum(one.cleared for one in found)
    if len(found) < LEAST:
        how = f"cleared in {cleared}" if len(found) > 1 else "cleared" if cleared else "stayed"
        times = f"{len(found)} times" if len(found) > 1 else "once"
        return (f"So far hazy pieces of this glass were fired again in this kiln {times}; the haze {how}. "
                f"From {LEAST} firings on, the hotter ones are compared with the cooler ones here.")
    cut = thirds(found)
    if cut is None:
        return f"All {len(found)} peaked at {found[0].peak} °{unit}; the haze cleared in {cleared}."
    above = f"above {to_unit(limit_c, unit):.0f} °{unit}"
    middle = ""
    if cut.middle:
        middle = f" In between, {_span(cut.middle, unit)}, it cleared in {_of(cut.middle)}."
    (hot_low, hot_high), (cool_low, cool_high) = (
        share_between(sum(one.cleared for one in group), len(group)) for group in (cut.hotter, cut.cooler))
    return (f"The haze cleared in {_of(cut.hotter)} with a peak of {cut.hotter[0].peak} °{unit} or more "
            f"({_minutes(cut.hotter)} {above}), and in {_of(cut.cooler)} with {cut.cooler[-1].peak} °{unit} or less "
            f"({_minutes(cut.cooler)}).{middle} So few firings leave much open: in the long run it may be "
            f"{100 * hot_low:.0f} to {100 * hot_high:.0f} % of the hotter ones and {100 * cool_low:.0f} to "
            f"{100 * cool_high:.0f} % of the cooler ones. That is what went together, not why.")


def tonight(found: Sequence[Refire], peak: int, above_min: float, limit_c: float, unit: str) -> str:
    """Return where a firing that is foreseen lies among those that were, as a sentence; empty without any."""
    if not found:
        return ""
    here = (f"As foreseen, this plan peaks at {peak} °{unit}, with {above_min:.0f} min above "
            f"{to_unit(limit_c, unit):.0f} °{unit}.")
    cut = thirds(found) if len(found) >= LEAST else None
    if cut is None:
        so_far = "The firings so far" if len(found) > 1 else "The one firing so far"
        return f"{here} {so_far} peaked at {_span(sorted(found), unit)}."
    if peak >= cut.hotter[0].peak:
        more = " It is hotter than all of them." if peak > cut.hotter[-1].peak else ""
        return f"{here} It lies with the hotter ones, where the haze cleared in {_of(cut.hotter)}.{more}"
    if peak <= cut.cooler[-1].peak:
        less = " It is cooler than all of them." if peak < cut.cooler[0].peak else ""
        return f"{here} It lies with the cooler ones, where the haze cleared in {_of(cut.cooler)}.{less}"
    if cut.middle:
        return f"{here} It lies in between, where the haze cleared in {_of(cut.middle)}."
    return f"{here} It lies between the cooler and the hotter ones, where nothing was fired yet."


def _of(group: Sequence[Refire]) -> str:
    return f"{sum(one.cleared for one in group)} of {len(group)}"


def _span(group: Sequence[Refire], unit: str) -> str:
    low, high = group[0].peak, group[-1].peak
    return f"{low} °{unit}" if low == high else f"{low} to {high} °{unit}"


def _minutes(group: Sequence[Refire]) -> str:
    low, high = (round(edge(one.above_min for one in group)) for edge in (min, max))
    return f"{low} min" if low == high else f"{low} to {high} min"
