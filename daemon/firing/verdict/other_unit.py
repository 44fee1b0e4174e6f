"""An answer of an earlier version said in the other unit: that version kept its words in one unit only.

A judgement of today holds its answers in both units, made from the values (``stored_answers.stored_verdict``).
"""

from __future__ import annotations

import re
from dataclasses import replace

from daemon.firing.units import Units
from daemon.firing.verdict.verdict_words import AnswerInWords

_FIGURE = re.compile(r"(\d+(?:\.\d+)?)([ \u00a0])°([CF])(/h)?")
_IS_DIFFERENCE = re.compile(r"[ \u00a0](?:above|below|too hot)\b")
"""What follows a difference of two temperatures: ``11 °C above plan``, ``4 °C too hot``."""


def in_unit(told: AnswerInWords, unit: str) -> AnswerInWords:
    """Return an answer with its temperatures, differences and rates in a unit, "C" or "F".

    A figure that was rounded to the degree in the one unit is reckoned from that, and may be a degree off.
    """
    units = Units(unit)
    return replace(told, answer=_retold(told.answer, units),
                   measured=None if told.measured is None else _retold(told.measured, units),
                   asked=None if told.asked is None else _retold(told.asked, units))


def _retold(text: str, units: Units) -> str:
    """Return a text of ``verdict_words`` with each figure in the other unit said in this one."""
    def said(found: re.Match[str]) -> str:
        value, other, is_rate = float(found[1]), found[3], found[4] is not None
        if other == units.unit:
            return found[0]
        per_k = 1.8 if other == "F" else 1.0
        if is_rate:
            return units.rate(value / per_k)
        if _IS_DIFFERENCE.match(text, found.end()):
            return units.difference(value / per_k)
        return units.temp((value - 32.0) / 1.8 if other == "F" else value)

    return _FIGURE.sub(said, text)
