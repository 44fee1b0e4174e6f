"""A thickness as makers write it, in millimetres or inches, ``1/4"``, read and said."""

from __future__ import annotations

import re
from fractions import Fraction

MM_PER_INCH = 25.4
"""[source: exact by the international yard and pound agreement of 1959]"""
SIXTEENTHS = 16
"""The finest fraction of an inch that is said. [common practice: glass is sold in eighths and sixteenths]"""
_NEAR_INCH = 0.004
"""A thickness as near to a sixteenth is that sixteenth [inch]. [derived: a tenth of a millimetre]"""
_WRITTEN = re.compile(
    r"(?:(?P<whole>\d{1,3})[\s-]+)?(?P<top>\d{1,3})/(?P<bottom>\d{1,3})"
    r"|(?P<decimal>-?\d{1,4}(?:[.,]\d{1,4})?|[.,]\d{1,4})", re.ASCII)
_UNIT = re.compile(
    r"\s*(?:(?P<inch>\"|″|”|''|in\.?|inch(?:es)?)|(?P<mm>mm|millimet(?:re|er)s?)|(?P<cm>cm))?\s*", re.IGNORECASE)


def read_mm(text: str, unit: str) -> float | None:
    """Return a thickness in mm; None where it can't be read.

    Parameters
    ----------
    text
        As written: ``6``, ``6 mm``, ``1/4"``, ``1 1/2 in``. A fraction without a unit is of an inch.
    unit
        ``mm`` or ``inch``, of a figure that names none.
    """
    text = text.strip()
    found = _WRITTEN.match(text)
    if found is None:
        return None
    named = _UNIT.fullmatch(text, found.end())
    if named is None:
        return None
    if found["decimal"]:
        value = float(found["decimal"].replace(",", "."))
    elif not int(found["bottom"]):
        return None
    else:
        value = int(found["whole"] or 0) + int(found["top"]) / int(found["bottom"])
    if named["mm"]:
        return value
    if named["cm"]:
        return value * 10
    inches = named["inch"] or (not found["decimal"]) or unit == "inch"
    return value * MM_PER_INCH if inches else value


def thickness_figure(mm: float, unit: str) -> str:
    """Return a thickness as a form shows it again: ``6``; where inches are read ``1/4"``, or ``6 mm``."""
    if unit != "inch":
        return f"{round(mm, 2):g}"
    inches = mm / MM_PER_INCH
    near = Fraction(round(inches * SIXTEENTHS), SIXTEENTHS)
    if not near or abs(inches - near) > _NEAR_INCH:
        return f"{round(mm, 2):g} mm"
    whole, rest = divmod(near, 1)
    parts = [str(whole)] if whole else []
    return " ".join([*parts, str(rest)] if rest else parts) + '"'


def thickness_short(mm: float, unit: str) -> str:
    """Return a thickness as short as it can be told: ``6 mm``, ``1/4"``."""
    figure = thickness_figure(mm, unit)
    return (figure if unit == "inch" else f"{figure} mm").replace(" mm", "\u00a0mm")


def thickness_words(mm: float, unit: str) -> str:
    """Return a thickness with its unit: ``6 mm``; in inches with the millimetres behind: ``1/4" (6.4 mm)``."""
    if unit != "inch":
        return f"{round(mm, 2):g}\u00a0mm"
    figure = thickness_figure(mm, unit)
    return f"{figure} ({round(mm, 1):g}\u00a0mm)" if figure.endswith('"') else figure.replace(" ", "\u00a0")
