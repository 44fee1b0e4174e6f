"""How a logger's file is read, in the words of the page: what was found, what may be corrected, what is wrong."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from daemon.firing.durations import duration
from daemon.foreign_traces.corrected import DATES, DECIMALS, DELIMITERS, FORMS, UNITS
from web import words
from web.times import time_words

_LABELS = {
    "--delimiter": "Between the cells", "--decimal": "Before decimals", "--time-form": "The times are",
    "--time": "Times", "--dates": "Dates", "--zone": "Time zone", "--every-s": "Seconds between two rows",
    "--temperature": "Temperatures", "--unit": "Unit", "--began": "The first row was read",
}
"""What an option of the command is called in this form."""
_FORM_WORDS = {
    "seconds": "seconds", "minutes": "minutes", "hours": "hours", "milliseconds": "thousandths of a second",
    "hours-minutes": "hours and minutes", "minutes-seconds": "minutes and seconds", "date": "date and time",
}


def facts(shown: Mapping[str, Any] | None, unit: str) -> list[tuple[str, str]]:
    """Return what was found as pairs of a heading and words."""
    if shown is None:
        return []

    def row(when: str | None, temp_c: float) -> str:
        temp = f"{words.temp(temp_c, unit)} °{unit}"
        return temp if when is None else f"{_moment(when)}, {temp}"

    gaps = [("Gap", f"{duration(to_s - from_s)}, from {duration(from_s) if from_s else 'the first row'} on"
             + ("" if when is None else f" ({time_words(datetime.fromisoformat(when))})"))
            for from_s, to_s, when in shown["gaps"]]
    more = shown["gaps_in_all"] - len(gaps)
    return [
        ("Began", row(shown["began"], shown["first_c"]) + ("" if shown["began"] else ". The file tells no date.")),
        ("Ended", f"{row(shown['ended'], shown['last_c'])}, {duration(shown['ended_s'])} after the first row"),
        ("Highest", f"{words.temp(shown['highest_c'], unit)} °{unit}"),
        ("Readings", f"{shown['readings']}."), *gaps, *([("More gaps", str(more))] if more else []),
    ]


def _moment(said: str) -> str:
    when = datetime.fromisoformat(said)
    return f"{when:%Y-%m-%d} {time_words(when)}"


def options(asked: Mapping[str, str], shown: Mapping[str, Any] | None) -> dict[str, list[tuple[str, str]]]:
    """Return what may be chosen in each field; the first entry leaves it to be guessed, and says what is guessed."""
    names = [] if shown is None else [(str(at), f"{at}: {name}") for at, name in enumerate(shown["columns"], start=1)]
    known = {
        "temperature": names, "time": names, "time_form": [(name, _FORM_WORDS[name]) for name in FORMS],
        "unit": [(unit, f"°{unit}") for unit in UNITS],
        "dates": [(order, order.replace("-", " ")) for order in DATES],
        "delimiter": [(name, f"a {name}") for name in DELIMITERS],
        "decimal": [(name, f"a {name}") for name in DECIMALS],
    }
    now = {} if shown is None else shown["now"]
    return {name: [("", _guessed(name, now.get(name, ""), dict(choices), asked)), *choices]
            for name, choices in known.items()}


def _guessed(name: str, now: str, known: Mapping[str, str], asked: Mapping[str, str]) -> str:
    """Return the words of the entry that leaves a field to be guessed."""
    if asked[name] or not now:
        return "as guessed"
    return f"as guessed: {known.get(now, 'columns ' + ' and '.join(now.split('+')) if '+' in now else now)}"


def sentence(wrong: Mapping[str, str]) -> str:
    """Return what is wrong in the words of this form instead of the command's options."""
    said = f"{wrong['where']}: {wrong['problem']} {wrong['remedy']}".strip()
    return in_the_forms_words(said)


def in_the_forms_words(said: str) -> str:
    """Return a sentence with the names of the form's fields in place of the command's options."""
    said = re.sub(r" \(--[a-z-]+\)", "", said)
    for option, label in _LABELS.items():
        said = re.sub(rf"{option}(?![a-z-])", f"“{label}”", said)
    return said
