"""How figures are said on the page: plain, present tense, in the owner's unit and clock."""

from __future__ import annotations

import re
from datetime import datetime

from daemon.firing.alerts.registry import RANK_TITLES
from daemon.firing.units import Units
from web.times import local, time_words

RANKS = {rank.value: title for rank, title in RANK_TITLES.items()}
"""The three ranks in the page's words."""
STEADY_C_PER_H = 4.0
"""Slower than this is called steady [°C/h]. [chosen: the slope of ten minutes of noise]"""


def temp(temp_c: float | None, unit: str) -> str:
    """Return a temperature as a bare whole number; an en dash where there is none."""
    return "–" if temp_c is None else Units(unit).bare(temp_c)


def rate(rate_c_per_h: float, unit: str) -> str:
    """Return the size of a rate with its unit: ``54 °C/h``."""
    return Units(unit).rate(rate_c_per_h)


def movement(rate_c_per_h: float | None, unit: str) -> str:
    """Return what the temperature does: ``falling 54 °C/h``, ``steady``; empty where not known."""
    if rate_c_per_h is None:
        return ""
    if abs(rate_c_per_h) < STEADY_C_PER_H:
        return "steady"
    return f"{'climbing' if rate_c_per_h > 0 else 'falling'} {rate(rate_c_per_h, unit)}"


def clock(starts: datetime, t_s: float) -> str:
    """Return the wall clock at second ``t_s`` of a firing: ``02:14``."""
    return time_words(local(starts, t_s))


def part(step: int, kind: str) -> str:
    """Return a part of the plan as said: ``step 3, hold``."""
    return f"step {step}, {kind}"


def capital(words: str) -> str:
    """Return ``words`` with a capital at the front, the rest as it is."""
    return words[:1].upper() + words[1:]


_HEADLINES = {
    400: "That can’t be read", 401: "Passcode first", 403: "Not from there", 404: "Nothing stands here",
    405: "That is not done this way", 413: "That is too much at once", 429: "Slowly",
}
_REFUSED = {
    404: "The address may be mistyped, or what it named is gone.",
    405: "Open Lehrling from its front page and use the buttons there.",
    413: "No form of this page is that long, and no photograph may have more than 12 MB. Send less.",
}


def refused(code: int) -> tuple[str, str]:
    """Return what is said of a request that is refused with a status of HTTP: a headline, and what to do."""
    return _HEADLINES.get(code, "That did not work"), _REFUSED.get(code, "Go back and try again.")


_LOOSE = re.compile(r"(?<=\d) (?=(?:°[CF](?:/h)?|min|mm|h|s|days|kWh?)\b|%)")


_HOURS = re.compile(r"(?<=\d\u00a0h) (?=\d\d\u00a0min\b)")


def quoted(text: str) -> str:
    """Return ``text`` with the quotes of a message of the command line as the page has them: “Mars”."""
    return re.sub(r"(?<!\w)'([^']*)'(?!\w)|\"([^\"]*)\"", lambda found: f"“{found[1] or found[2] or ''}”", text)


def bound(text: str) -> str:
    """Return ``text`` with each figure bound to unit and ±, so that no line breaks there, and one apostrophe."""
    return _HOURS.sub("\u00a0", _LOOSE.sub("\u00a0", text)).replace("± ", "±\u00a0").replace("'", "’")
