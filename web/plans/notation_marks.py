"""One line of a plan on paper, cut into marks: figures with what they say of themselves, and words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

Kind = Literal["figure", "rate", "degrees", "time", "free", "to", "hold", "at", "in", "rate-word", "purpose", "off",
               "unknown"]


@dataclass(frozen=True, slots=True)
class Mark:
    """One mark of a line.

    Attributes
    ----------
    kind
        ``figure`` says nothing of itself; ``rate``, ``degrees`` and ``time`` carry their unit.
    text
        As it stands in the line; of a purpose its name.
    value
        Of a figure, as written; of a rate, degrees an hour; of a time, minutes.
    unit
        ``C`` or ``F`` where the figure names it, else empty.
    minus
        Whether a minus sign stands before it.
    decimals
        Whether the figure is written with decimals.
    """

    kind: Kind
    text: str
    value: float = 0.0
    unit: str = ""
    minus: bool = field(default=False, kw_only=True)
    decimals: bool = field(default=False, kw_only=True)


FREE_FROM = 9990.0
"""A rate from here on is "as fast as the kiln goes" [degrees/h]; plans on paper write 9999. [common practice]"""

_PHRASES: tuple[tuple[str, str], ...] = (
    (r"as\s+fast\s+as\s+(?:possible|it\s+goes|the\s+kiln\s+goes)|full\s+(?:power|speed|on)|flat\s+out|crash(?:\s+cool)?",
     "free"),
    (r"bubble[\s-]+squeeze", "squeeze"), (r"burn(?:[\s-]*(?:off|out))", "burn-off"),
    (r"(?:full|tack|contour)[\s-]+fuse", "fuse"), (r"anneal(?:ing)?\s+soak|annealing", "anneal"),
    (r"no\s+(?:hold|soak|dwell)", " "), (r"(?:and\s+)?then\b", " "),
)
"""Phrases of several words, and the one word each is read as."""
_WORDS: dict[Kind, frozenset[str]] = {
    "free": frozenset({"free", "full", "afap", "asap", "fast", "fastest", "max", "freely"}),
    "to": frozenset({"to", "->", "=>", "→", "⇒", "until", "target", "temp", "temperature"}),
    "hold": frozenset({"hold", "holds", "held", "soak", "dwell", "stay", "for", "wait"}),
    "at": frozenset({"at", "@"}), "in": frozenset({"in", "over", "within"}),
    "rate-word": frozenset({"rate"}), "off": frozenset({"off", "end", "stop", "done", "finish"}),
}
_NOISE = frozenset({"ramp", "up", "down", "and", "the", "of", "a", "climb", "heat", "cool", "fall", "go", "deg", "°",
                    "degrees", "per", "hour", "kiln", "-", "by", "is", "with", "=", ":", ".", "+", ">", "*"})
"""Words that say nothing a figure does not say; the direction follows from the targets."""
_PURPOSES = {"squeeze": "squeeze", "anneal": "anneal", "burn-off": "burn-off", "top": "top", "process": "top",
             "fuse": "top", "slump": "top"}

_NUMBER = r"\d{1,6}(?:\.\d{1,3})?"
_SCANNER = re.compile("|".join((
    rf"(?P<rate>{_NUMBER})\s*(?:(?:°|deg(?:rees?)?\.?)?\s*(?P<rate_unit>[cf])?\s*(?:/\s*|per\s+)(?P<per>h|hr|hour|m|min"
    rf"|minute)s?|(?P<rate_unit2>[cf]|d|°)ph)(?![a-z0-9])",
    r"(?P<clock>(?P<hours>\d{0,3}):(?P<minutes>[0-5]\d)(?::(?P<seconds>[0-5]\d))?)(?:\s*h(?:rs?|ours?)?)?(?![a-z0-9:])",
    rf"(?P<long>{_NUMBER})\s*h(?:rs?|ours?)?\.?(?:(?P<odd>[0-5]?\d)(?:m(?:ins?)?)?|\s*(?P<odd2>[0-5]?\d)\s*m(?:in(?:ute)?s?)?"
    r")?(?![a-z0-9])",
    rf"(?P<short>{_NUMBER})\s*(?:m(?:in(?:ute)?s?)?\.?|['′])(?![a-z0-9])",
    rf"(?P<second>{_NUMBER})\s*s(?:ec(?:ond)?s?)?(?![a-z0-9])",
    rf"(?P<degrees>{_NUMBER})\s*(?:°\s*(?P<unit>[cf])?|deg(?:rees?)?\.?\s*(?P<unit2>[cf])?|(?P<unit3>[cf]))(?![a-z0-9])",
    rf"(?P<figure>{_NUMBER})(?![a-z0-9.,:°%‚])",
    r"(?P<word>->|=>|[→⇒@°=:*+>-]|[^\s/;|,@→⇒]+)",
)))
"""The marks of a line, the one that says most of itself first."""


def plain(line: str) -> str:
    """Return a line in lower case, with one kind of minus sign, of blank and of degree sign."""
    line = line.translate(_SAME).lower()
    return re.sub(r"\s+", " ", line).strip()


_SAME = str.maketrans({"−": "-", "–": "-", "—": "-", "\u00a0": " ", "\u202f": " ", "\t": " ", "º": "°", "˚": "°",
                       "‘": "'", "’": "'", "℃": "°c", "℉": "°f"})


def marks(line: str) -> tuple[Mark, ...]:
    """Return the marks of a line that went through ``plain``, without its number or bullet."""
    return tuple(_scan(_one_separator(_said_shortly(line))))


def _said_shortly(line: str) -> str:
    for phrase, word in _PHRASES:
        line = re.sub(rf"(?<![a-z])(?:{phrase})(?![a-z])", word, line)
    return line


_HOTTEST, UNREAD = 2500, "‚"
"""A figure with a comma or point for thousands is read as one up to the first [degrees, of either unit], or where it
is "as fast as it goes"; a comma that may be either is set as the second, which no figure has, so that the line is
refused. [chosen: hotter than any kiln for glass]"""
_THOUSANDS = re.compile(r"(?<![\d.,])([1-9])([.,])(\d{3})(?![.,]?\d)")
_COMMA_CHAIN = re.compile(r"(?<![\d.,])\d+(?:,\d+){2,}(?![.,]?\d)")


def _one_separator(line: str) -> str:
    """Return the line without commas and points that mean thousands, with decimal commas as points.

    Every other comma, and a dash between figures, becomes a blank. In 1,225,30 nobody can tell which it is.
    """
    line = _COMMA_CHAIN.sub(_of_chain, line)
    line = _THOUSANDS.sub(_joined, line)                                    # 1,225
    gaps = re.findall(r"(?<=\d)[^\da-z:]+(?=\d)", re.sub(r"\d\.\d", "11", line))
    if gaps and all(gap == "," for gap in gaps):  # 300,1225,30
        line = line.replace(",", " ")
    line = _THOUSANDS.sub(lambda found: found[0].replace(",", UNREAD), line)
    line = re.sub(r"(?<=\d),(?=\d{1,3}(?!\d))", ".", line)                  # 27,5
    line = re.sub(r"(?<=\d)(?:-\s*|\s+-\s+)(?=[\d:])", " ", line)          # 150-960-60, but 150 -960 has a minus
    return line.replace(",", " ")


def _of_chain(found: re.Match[str]) -> str:
    """Return figures between commas alone: with those for thousands left out behind the first, as in 300,1,225,30."""
    if re.match(r"[1-3],\d{3}(?!\d)", found[0]):
        return found[0].replace(",", UNREAD)
    return re.sub(r"(?<=,)([12]),(\d{3})(?!\d)", r"\1\2", found[0])


def _joined(found: re.Match[str]) -> str:
    """Return a figure without its separator for thousands where the whole can be one of a plan."""
    whole = f"{found[1]}{found[3]}"
    if int(whole) <= _HOTTEST or int(whole) >= FREE_FROM:
        return whole
    # From 4 on it may be a slow rate and its target, as in 5,960; 3,000 is neither.
    return found[0].replace(",", UNREAD) if int(found[1]) < _SLOW_FROM else found[0]


_SLOW_FROM = 4
"""A slower rate than this is no figure of a plan on paper [degrees/h]. [chosen: 1,225 is a thousand]"""


def _scan(line: str) -> Iterator[Mark]:
    minus = False
    for found in _SCANNER.finditer(line):
        mark = _of_figure(found, minus=minus) or _of_word(found[0])
        minus = found[0] == "-" or (found[0].startswith("-") and mark is None)
        if mark is not None:
            yield mark


def _of_figure(found: re.Match[str], *, minus: bool) -> Mark | None:
    """Return the mark of a figure; None where a word was found."""
    text, part = found[0], found.groupdict()
    if part["rate"]:
        unit = part["rate_unit"] or part["rate_unit2"] or ""
        value = float(part["rate"]) * (60.0 if (part["per"] or "h").startswith("m") else 1.0)
        return Mark("rate", text, value, unit.upper() if unit in "cf" else "", minus=minus)
    if part["clock"]:
        value = float(part["hours"] or 0) * 60 + float(part["minutes"]) + float(part["seconds"] or 0) / 60
        return Mark("time", text, value)
    if part["long"]:
        return Mark("time", text, float(part["long"]) * 60 + float(part["odd"] or part["odd2"] or 0))
    if part["short"]:
        return Mark("time", text, float(part["short"]))
    if part["second"]:
        return Mark("time", text, float(part["second"]) / 60)
    if part["degrees"]:
        unit = part["unit"] or part["unit2"] or part["unit3"] or ""
        return Mark("degrees", text, float(part["degrees"]), unit.upper(), minus=minus)
    if part["figure"]:
        return Mark("figure", text, float(text), minus=minus, decimals="." in text)
    return None


def _of_word(text: str) -> Mark | None:
    """Return the mark of a word; None where it says nothing."""
    word = text.strip(".:()[]“”\"") or text
    if word in _NOISE:
        return None
    if word in _PURPOSES:
        return Mark("purpose", _PURPOSES[word])
    for kind, known in _WORDS.items():
        if word in known:
            return Mark(kind, word)
    return Mark("unknown", text)
