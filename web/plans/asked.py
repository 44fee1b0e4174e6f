"""What is asked of a forecast besides the plan as it is written, from the fields of its form to its process."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime

from daemon.kiln.planning.latest_start import Done
from daemon.kiln.planning.what_if import ANNEAL_MM, MOST_LONGER_MIN, in_kelvin, most_hotter
from daemon.typed_time import read_time, times_in
from daemon.wall_clock import next_time
from web.request.context import settings
from web.request.form import Form

DONE = {Done.HOLD.value: "the anneal hold is over", Done.ANNEALED.value: "it is below the annealing range",
        Done.OPEN.value: "it is cool enough to open"}
"""What may have to be done before the maker leaves, as the form has it."""


def done_options(*, is_empty: bool) -> dict[str, str]:
    """Return what may have to be done; a kiln without glass has nothing to anneal."""
    return {Done.OPEN.value: DONE[Done.OPEN.value]} if is_empty else DONE


def arguments(form: Form, unit: str, options: Collection[str]) -> list[str]:
    """Return what is asked as the process takes it; what can't be used is noted in ``form.wrong``.

    Parameters
    ----------
    form
        As it was typed.
    unit
        The reader's, "C" or "F".
    options
        What may have to be done; the first one where nothing was chosen.
    """
    most, now = most_hotter(unit), settings().clock.utc().astimezone(settings().zone)
    hotter = form.number("hotter", -most, most, f"°{unit}")
    longer = form.number("longer", -MOST_LONGER_MIN, MOST_LONGER_MIN, "min")
    anneal_mm = form.thickness("anneal", *ANNEAL_MM, settings().config.thickness_unit)
    done, by = form.choice("done", options, next(iter(options))), _done_by(form)
    if "done" in form.wrong and form["done"] in DONE:
        form.wrong["done"] = "No glass is in the kiln, so nothing is annealed. Shown is when it may be opened."
    return [*(f"--starts={start.isoformat()}" for start in _starts(form, now)),
            *([f"--hotter-k={in_kelvin(hotter, unit)}"] if hotter else []),
            *([f"--longer-s={60 * longer}"] if longer else []),
            *([f"--anneal-mm={anneal_mm}"] if anneal_mm else []),
            *([f"--done={done}", f"--done-by={by}", f"--now={now.isoformat()}"] if by else [])]


def _starts(form: Form, now: datetime) -> Sequence[datetime]:
    """Return the next time the clock shows each that was typed; none where none was, or one can't be read."""
    found = []
    for one in times_in(form["start"]):
        at, wrong = read_time(one)
        if at is None:
            form.wrong["start"] = f"“{one[:20]}” {wrong}"
            return []
        found.append(next_time(at, now))
    return found


def _done_by(form: Form) -> str:
    """Return the time of day by which it must be done, as 08:00; empty where none was typed, or it can't be read."""
    typed = form["done_by"].strip()
    at, wrong = read_time(typed) if typed else (None, "")
    if wrong:
        form.wrong["done_by"] = f"“{typed[:20]}” {wrong}"
    return "" if at is None else f"{at:%H:%M}"
