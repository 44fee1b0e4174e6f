"""Writes words.md: every text an alert can say, by kind and phase, from the examples that the kinds give.

python docs/words.py        print the page; docs/make.py keeps it in docs/words.md
"""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import Any

from daemon.firing import example_firing
from daemon.firing.alerts import board as alerts
from daemon.firing.alerts import telling
from daemon.firing.alerts.registry import KINDS
from daemon.firing.durations import duration, time_left
from daemon.firing.events import Alert, AlertChanged, Milestone, Rank
from daemon.firing.kind import RESOUND_S, Example, Finding, Kind
from daemon.firing.units import Units
from daemon.firing.watches import over_temperature
from daemon.notify.alert_messages import Channel, rows_for
from daemon.notify.other_messages import MILESTONES, Post, of_milestone, of_return, of_test, of_waking
from web.documents import anchor_of

PHONE = Channel("phone", Path("phone.url"))
FIRING = "Full fuse, two layers"
FIGURES = {**vars(telling), **vars(alerts), "RESOUND_S": RESOUND_S,
           "RUNAWAY_RESOUND_S": over_temperature.KIND.resound_s}
"""The constants that the table of the life of an alert names."""
HEAD = """# What Lehrling says

Every text an alert can say, by kind and phase, made by `python docs/make.py` from the cases that the tests hold: an
invented full fuse of 6 mm, its anneal at 516 °C. The first line is what a locked phone shows. Where there is so much
time left, a message ends with the time of day: "Do this before 00:05." The advice is common
practice of the trade; the data sheet of the glass and the manual of the kiln come first. This is a helper, not a
safety device.

CONTENTS
## The life of an alert
"""


def page() -> str:
    """Return the page."""
    table = re.sub(r"\b[A-Z]+(_[A-Z]+)+\b", _figure, (alerts.__doc__ or "").split("\n\n", 1)[1].rstrip())
    lines = [HEAD.replace("CONTENTS", contents()), "```text", table, "```", "", "## Alerts", ""]
    for kind in KINDS:
        for example in kind.examples:
            lines += _entry(kind, example)
    return "\n".join([*lines, *_letters()]).rstrip() + "\n"


def contents() -> str:
    """Return links to the main headings, and to the first text of each kind of alert."""
    headings = {"The life of an alert": "", "Other messages": ""} | {
        kind.name: _heading(kind, kind.examples[0]) for kind in KINDS}
    return "".join(f"- [{name}](#{anchor_of(heading or name)})\n" for name, heading in headings.items())


def _heading(kind: Kind[Any], example: Example[Any]) -> str:
    return kind.name + (f": {example.phase}" if example.phase else "")


def _figure(name: re.Match[str]) -> str:
    """Return a constant of the module as a maker reads it."""
    value = FIGURES[name[0]]
    if name[0].endswith("_S"):
        return duration(value)
    return f"{value:g}" + (" °C" if name[0].endswith("_C") else "")


def _entry(kind: Kind[Any], example: Example[Any]) -> list[str]:
    finding = Finding(kind, example.rank, 0.0, example.facts, 4)
    text = kind.words(finding, example_firing.speaker())
    woke_s = 0.0 if example.rank is Rank.WAKE else None
    alert = Alert(1, kind.name, example.rank, 0.0, 0.0, text, woke_s, step=4)
    rows = rows_for(AlertChanged(0.0, "raised", alert), FIRING, [PHONE])
    fahrenheit = kind.words(finding, example_firing.speaker("F")).what
    keyed = [f"   {row}" for row in Units(text.key_unit).listed(text.lines, text.keyed_from_c)]
    lists = ["", "   ```text", *keyed, "   ```", ""]
    acts = [line for number, act in enumerate(text.acts)
            for line in (f"{number + 1}. {act}", *(lists if number == text.lines_after else []))]
    return [
        f"### {_heading(kind, example)}", "",
        f"`{rows[0].title}`" if rows else "*Noted in the record; no message.*", "",
        f"{text.what} {text.meaning}", "", *acts, "", *([text.caution, ""] if text.caution else []),
        *([time_left(text.time_left_s), ""] if text.time_left_s else []),
        f"*Read in °F:* {fahrenheit}", "",
    ]


def _letters() -> list[str]:
    loud = Post((PHONE,), dict.fromkeys(MILESTONES, "ring"))
    lines = ["## Other messages", ""]
    letters = [
        *of_milestone(Milestone(0.0, "anneal-begun", "The anneal hold at 516 °C has begun."), FIRING, loud),
        *of_return(FIRING, 2700.0, "the computer was off", loud),
        *of_waking("Studio kiln: No firing is open.", [], loud), *of_test([PHONE]),
    ]
    for letter in letters:
        lines += [f"`{letter.title}`", "", " ".join(letter.body.split("\n")), ""]
    return lines


if __name__ == "__main__":
    sys.stdout.write(page())
