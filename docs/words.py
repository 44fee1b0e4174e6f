"""Writes words.md: every text an alert can say, by kind and phase, from the cases its tests are held to.

python docs/words.py        print the page; docs/make.py keeps it in docs/words.md
"""

from __future__ import annotations

import importlib.util
import re
import sys
from pathlib import Path
from types import ModuleType

from daemon.firing.alerts import board as alerts
from daemon.firing.alerts.texts import KINDS, Wording
from daemon.firing.events import Alert, AlertChanged, Milestone, Rank
from daemon.firing.situation.view import Finding
from daemon.notify.alert_messages import Channel, duration, rows_for
from daemon.notify.notices import MILESTONES, Post, of_milestone, of_return, of_test, of_waking

ROOT = Path(__file__).parents[1]
TEXTS = "tests/daemon/firing/alerts/test_texts.py"
"""The tests that hold a case of each kind."""
PHONE = Channel("phone", Path("phone.url"))
FIRING = "Full fuse, two layers"
RANKS = {"not-started": Rank.LOOK, "heating-too-fast": Rank.LOOK, "haze-range": Rank.LOG, "not-climbing": Rank.WAKE}
"""How loudly a kind is shown here, where it is not a wake; what a look is called stands in the page."""
PHASES = {
    "over-temperature": ("past the top", "past the top, climbing", "about to pass the top", "through a hold",
                         "climbing where the plan only falls"),
    "cooling-too-fast": ("in the anneal range", "in the anneal range, planned free, both faces", "below it"),
    "not-cooling": ("climbing above the anneal", "staying in the cooling"),
    "firing-stopped": ("on the climb", "at the top", "in the anneal"),
    "hold-cut-short": ("the anneal", "another hold"),
    "hold-off-target": ("the anneal, low", "the anneal, high", "another hold"),
    "restarted": ("broke off on the climb", "dark above the anneal", "dark in the anneal", "dark, below 370 °C",
                  "nothing known of before"),
    "sudden-drop": ("at first", "when it stays"),
    "sensor-fault": ("soon", "after ten minutes"), "readings-missing": ("soon", "after a day"),
}
HEAD = """# What Lehrling says

Every text an alert can say, by kind and phase, made by `python docs/make.py` from the cases that the tests hold: an
invented full fuse of 6 mm, its anneal at 516 °C. The first line is what a locked phone shows. The advice is common
practice of the trade; the data sheet of the glass and the manual of the kiln come first. This is a helper, not a
safety device.

## The life of an alert
"""


def cases() -> ModuleType:
    """Return the module of tests that holds the cases."""
    name = "lehrling_cases_of_words"
    spec = importlib.util.spec_from_file_location(name, ROOT / TEXTS)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def page() -> str:
    """Return the page."""
    table = re.sub(r"\b[A-Z]+(_[A-Z]+)+\b", _figure, (alerts.__doc__ or "").split("\n\n", 1)[1].rstrip())
    tested = cases()
    lines = [HEAD, "```text", table, "```", "", "## Alerts", ""]
    for kind in KINDS:
        for number, facts in enumerate(tested.FACTS[kind]):
            phases = PHASES.get(kind, ())
            lines += _entry(kind, phases[number] if number < len(phases) else "", facts, tested.MENDER)
    return "\n".join([*lines, *_letters()]).rstrip() + "\n"


def _figure(name: re.Match[str]) -> str:
    """Return a constant of the module as a maker reads it."""
    value = getattr(alerts, name[0])
    if name[0].endswith("_S"):
        return duration(value)
    return f"{value:g}" + (" °C" if name[0].endswith("_C") else "")


def _entry(kind: str, phase: str, facts: dict[str, float], mender: object) -> list[str]:
    rank = RANKS.get(kind, Rank.WAKE)
    finding = Finding(kind, rank, 0.0, 4, facts)
    text = Wording("C", 6.0, mender).text(finding)  # type: ignore[arg-type]
    alert = Alert(1, kind, rank, 0.0, 0.0, text, 0.0 if rank is Rank.WAKE else None, step=4)
    rows = rows_for(AlertChanged(0.0, "raised", alert), FIRING, [PHONE])
    fahrenheit = Wording("F", 6.0, mender).text(finding).what  # type: ignore[arg-type]
    return [
        f"### {kind}" + (f": {phase}" if phase else ""), "",
        f"`{rows[0].title}`" if rows else "*Noted in the record; no message.*", "",
        f"{text.what} {text.meaning}", "", f"**Do:** {text.do}", "",
        *([f"Time left: about {text.time_left_s / 60:.0f} min.", ""] if text.time_left_s else []),
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
