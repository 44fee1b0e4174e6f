"""Numbers in the cells of a column: which mark stands before the decimals, and what means that nothing was read."""

from __future__ import annotations

import re
from collections.abc import Iterable
from math import isfinite
from typing import Literal

DecimalMark = Literal[".", ","]

_GROUPED = re.compile(r"[+-]?\d{1,3}(?:,\d{3})+(?:\.\d+)?", re.ASCII)
"""A number with commas between its thousands."""
_COMMA = re.compile(r"[+-]?\d*,\d+", re.ASCII)
_UNIT = re.compile(r"\s*(?:°\s*|º\s*|deg\.?\s*)?[CFcf]?\s*$")
"""A unit after a number."""
_THOUSAND = 1000.0
"""From here on a number can have a comma between its thousands. [derived: it has four figures]"""


def decimal_mark(cells: Iterable[str]) -> DecimalMark:
    """Return the mark before the decimals of a column's numbers; a point where none has decimals.

    ``1,225`` may be a thousand or little more than one. It is a thousand where every cell with a comma has its commas
    between groups of three, and every cell without a comma is below a thousand; else the comma stands before
    decimals.
    """
    texts = [_UNIT.sub("", cell.strip()) for cell in cells]
    with_comma = [text for text in texts if "," in text]
    if not with_comma or any("." in text and text.rfind(".") > text.rfind(",") for text in with_comma):
        return "."
    if all(_GROUPED.fullmatch(text) for text in with_comma):
        others = [abs(value) for text in texts if "," not in text and (value := number(text, ".")) is not None]
        if others and max(others) < _THOUSAND and len(others) < len(texts):
            return "."
    return "," if any(_COMMA.fullmatch(text) for text in with_comma) else "."


def number(cell: str, mark: DecimalMark) -> float | None:
    """Return the number of a cell; None where it holds none, as where a logger writes ``---`` or ``open``.

    Parameters
    ----------
    cell
        The text, with or without °C or °F after it.
    mark
        What stands before the decimals. The other of point and comma is taken for a mark between thousands.
    """
    text = _UNIT.sub("", cell.strip().strip("'")).replace("\u2212", "-").replace("\u00a0", "").replace(" ", "")
    text = text.replace("." if mark == "," else ",", "").replace(mark, ".")
    if not text.isascii() or "_" in text:
        return None
    try:
        value = float(text)
    except ValueError:
        return None
    return value if isfinite(value) else None
