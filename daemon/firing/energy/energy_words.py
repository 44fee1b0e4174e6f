"""Energy and its cost in words, as finely as they are known."""

from __future__ import annotations

_TENTHS_BELOW_KWH = 9.95
"""Below this energy is said to the tenth [kWh]. [chosen: two figures are more than an estimate is worth]"""
_WHOLE_MONEY, _WHOLE_ESTIMATE = 1000.0, 10.0
"""From here on a cost is said without its hundredths: by a meter, and estimated. [chosen: likewise]"""


def kwh_words(kwh: float) -> str:
    """Return an energy, as finely as it is known, without its unit."""
    return f"{kwh:.1f}" if kwh < _TENTHS_BELOW_KWH else f"{kwh:.0f}"


def cost_words(kwh: float, price_per_kwh: float | None, currency: str, *, bare: bool = False,
               is_exact: bool = False) -> str:
    """Return what so much energy costs; empty where no price was given.

    Parameters
    ----------
    kwh
        The energy.
    price_per_kwh, currency
        What the owner says of them; the currency may be empty.
    bare
        Whether the currency is left out.
    is_exact
        Whether the energy is known; the cost of an estimate is said to the tenth, or to the whole.
    """
    if price_per_kwh is None:
        return ""
    money = kwh * price_per_kwh
    sign = f"\u00a0{currency}" if currency and not bare else ""
    if money >= (_WHOLE_MONEY if is_exact else _WHOLE_ESTIMATE):
        return f"{money:.0f}{sign}"
    return f"{money if is_exact else round(money, 1):.2f}{sign}"
