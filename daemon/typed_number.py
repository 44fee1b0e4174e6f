"""A number as somebody typed it, read in one way by the page and the commands."""

from __future__ import annotations

import re
from math import isfinite

_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
_ONE_OR_THOUSAND = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}", re.ASCII)
"""A comma between thousands, or before decimals: which one, nobody can tell."""
NOT_A_NUMBER = "is not a number."


def read_number(text: str) -> tuple[float | None, str]:
    """Return the number that a text spells, with a point or a comma before its decimals, and what is wrong.

    Parameters
    ----------
    text
        As typed, such as ``3.6``, ``3,6`` or ``1e3``.

    Returns
    -------
    tuple
        The number and an empty text; or None and what is wrong, as the end of a sentence that begins with the text.
    """
    text = text.strip()
    if _ONE_OR_THOUSAND.fullmatch(text):
        thousands, decimals = text.replace(",", ""), float(text.replace(",", "."))
        return None, f"could be {thousands} or {decimals:g}. Write the one you mean."
    if not _NUMBER.fullmatch(text):
        return None, NOT_A_NUMBER
    value = float(text.replace(",", "."))
    return (value, "") if isfinite(value) else (None, NOT_A_NUMBER)
