"""A logger's file read, or kept as a firing, in a process of its own: ``python -m web.other_logs.reading_process``.

A file that nobody here wrote is read with bounded time and memory, and the page answers others meanwhile.
"""

from __future__ import annotations

import json
import resource
import sys
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from web.request.child_process import ChildProcess

if TYPE_CHECKING:
    from daemon.foreign_traces.readings import Readings
    from daemon.foreign_traces.understanding import Understanding

LONGEST_S = 180.0
"""Reading, or judging, that takes longer is ended [s]. [chosen: nobody waits longer for a page]"""
MOST_MEMORY_BYTES = 400 * 1024 * 1024
"""Address space of the process at most. [chosen: measured, 46 h of readings each second in 8 MB need 230 MB]"""
SHOWN_ROWS = 4
"""Rows that are shown as they stand in the file, from its beginning and from its end. [chosen: fits a phone]"""
SHOWN_COLUMNS = 8
"""Columns of these rows that are shown. [chosen: a table that a phone can scroll]"""
SHOWN_SIGNS = 24
"""Signs of a cell that are shown. [chosen: a date with its time]"""
SHOWN_GAPS = 6
"""Gaps that are listed. [chosen: the first ones; their number is said]"""
_PROCESS = ChildProcess("web.other_logs.reading_process", LONGEST_S)


def looked_at(path: Path, name: str, asked: Mapping[str, str], unit: str) -> Mapping[str, Any] | None:
    """Return what a file is taken for; None where another one is being read just now, or it took too long.

    Parameters
    ----------
    path, name
        The file, and what it was called.
    asked
        What the maker says of it, as ``daemon.foreign_traces.corrected`` takes it.
    unit
        "C" or "F", in which it is drawn.
    """
    return _PROCESS.run([json.dumps({"path": str(path), "name": name, "asked": dict(asked), "unit": unit})])


def kept(path: Path, name: str, asked: Mapping[str, str], facts: Mapping[str, Any]) -> Mapping[str, Any] | None:
    """Keep a file as a firing and return its number, or what is wrong; None as ``looked_at``.

    ``facts`` are title, kiln, plan_toml, glass, thickness_mm, faces, pieces, began, now_utc, database.
    """
    return _PROCESS.run([json.dumps({"path": str(path), "name": name, "asked": dict(asked), "keep": dict(facts)})])


def main(arguments: list[str] | None = None) -> int:
    """Print what was understood, the firing's number, or what is wrong, as JSON."""
    from daemon.errors import BadInput
    from daemon.foreign_traces.encoding import Unreadable

    work = json.loads((sys.argv[1:] if arguments is None else arguments)[0])
    if arguments is None:
        _bound_memory()
    try:
        said = _work(work)
    except BadInput as err:
        said = {"wrong": {"where": err.where, "problem": err.problem, "remedy": err.remedy,
                          "is_of_file": isinstance(err, Unreadable)}}
    except MemoryError:
        said = {"wrong": {"where": work["name"], "problem": "needs more memory than this computer has for it.",
                          "remedy": "Cut it to the rows of this one firing.", "is_of_file": True}}
    json.dump(said, sys.stdout, allow_nan=False)
    return 0


def _bound_memory() -> None:
    """Let this process, and nothing but it, fail where it asks for more than MOST_MEMORY_BYTES."""
    try:
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
    except (OSError, ValueError):
        return  # not allowed here; the length of the file bounds it too


def _work(work: dict[str, Any]) -> dict[str, Any]:
    from daemon.foreign_traces.corrected import understood

    data = Path(work["path"]).read_bytes()
    found, readings = understood(data, work["name"], work["asked"])
    if "keep" in work:
        return {"firing": _keep(work["name"], data, found, readings, work["keep"])}
    return _shown(found, readings, work["unit"])


def _keep(name: str, data: bytes, found: Understanding, readings: Readings, facts: dict[str, Any]) -> int:
    """Keep the file as a firing, judged as if it had been live."""
    from daemon.errors import BadInput
    from daemon.firing.plan.plan import parse_plan
    from daemon.firing.setup import Setup
    from daemon.foreign_traces.keep import Facts, began_as_said, keep
    from daemon.glass.reading import family
    from daemon.store.database import open_database

    plan = None if facts["plan_toml"] is None else parse_plan(facts["plan_toml"], "the plan")
    setup = Setup(plan=plan, glass=family(facts["glass"]), thickness_mm=facts["thickness_mm"], faces=facts["faces"],
                  unit=plan.unit if plan else "C")
    began = began_as_said(facts["began"], found, "the moment of the first row") if facts["began"] else readings.began
    if began is None:
        raise BadInput(name, "tells no date.", "Say when its first row was read.")
    db = open_database(Path(facts["database"]))
    try:
        return keep(db, name, data, found, readings, Facts(
            facts["title"], facts["kiln"], facts["plan_toml"], facts["glass"], setup, tuple(facts["pieces"])),
            began, datetime.fromisoformat(facts["now_utc"]))
    finally:
        db.close()


def _shown(found: Understanding, readings: Readings, unit: str) -> dict[str, Any]:
    """Return what was understood, as the page shows it."""
    from daemon.firing.trace.csv_trace import gaps
    from daemon.foreign_traces.summary import measured_words
    from daemon.foreign_traces.understanding import description
    from web.drawing.trace_model import picture_of
    from web.drawing.trace_svg import HALF, NARROW, svg

    seen = [sample for sample in readings.samples if sample.temp_c is not None]
    if not seen:
        return {"wrong": {"where": found.channel.name, "problem": "holds no temperature that can be read.",
                          "remedy": "Choose another column of temperatures, or another unit."}}
    starts = None if readings.began is None else readings.began.astimezone(found.zone)

    def when(t_s: float) -> str | None:
        moment = None if readings.began is None else readings.began + timedelta(seconds=t_s)
        return None if moment is None else moment.astimezone(found.zone).isoformat(timespec="seconds")

    picture = picture_of(readings.samples, (), (), None, starts=starts, unit=unit)
    holes = gaps(readings.samples)
    return {
        "read_as": description(found), "doubts": found.doubts, "notes": readings.notes,
        "readings": measured_words(readings.samples), "blind": len(readings.samples) - len(seen),
        "began": when(0.0), "ended": when(readings.samples[-1].t_s), "ended_s": readings.samples[-1].t_s,
        "first_c": seen[0].temp_c, "last_c": seen[-1].temp_c,
        "highest_c": max(sample.temp_c or 0.0 for sample in seen),
        "gaps": [[from_s, to_s, when(from_s)] for from_s, to_s in holes[:SHOWN_GAPS]], "gaps_in_all": len(holes),
        "columns": [cut(name) for name in found.table.names], "rows": _rows(found),
        "numbers": [{"at": channel.at + 1, "name": cut(channel.name), "lowest": channel.lowest,
                     "highest": channel.highest, "missing": channel.missing} for channel in found.channels],
        "now": _now(found), "wide": svg(picture, HALF, name="other-wide", ground=False),
        "narrow": svg(picture, NARROW, name="other-narrow", ground=False),
    }


def _rows(found: Understanding) -> dict[str, Any]:
    """Return the columns that are used and the first of the others, and the first and last rows of the file."""
    table = found.table
    used = [*(() if found.times is None else found.times.at), found.channel.at]
    others = [at for at in range(len(table.names)) if at not in used]
    at = sorted([*used, *others][:SHOWN_COLUMNS])
    numbers = list(range(len(table.rows)))
    first = numbers[:SHOWN_ROWS]
    last = [number for number in numbers[-SHOWN_ROWS:] if number not in first]
    return {
        "names": [cut(table.names[column]) for column in at], "used": [column in used for column in at],
        "left_out": len(table.names) - len(at),
        "first": [[str(table.line_numbers[row]), *(cut(table.rows[row][column]) for column in at)] for row in first],
        "last": [[str(table.line_numbers[row]), *(cut(table.rows[row][column]) for column in at)] for row in last],
    }


def _now(found: Understanding) -> dict[str, str]:
    """Return what each guess is, by the names under which it can be corrected."""
    from daemon.foreign_traces.corrected import DELIMITERS, FORMS

    times = found.times
    return {
        "delimiter": next(name for name, mark in DELIMITERS.items() if mark == found.table.delimiter),
        "decimal": "comma" if found.decimal == "," else "point",
        "time": "" if times is None else "+".join(str(at + 1) for at in times.at),
        "time_form": "" if times is None else next(
            (name for name, form in FORMS.items() if form is times.form), times.form.value),
        "dates": found.order, "zone": str(found.zone), "temperature": str(found.channel.at + 1), "unit": found.unit,
        "every_s": "" if found.every_s is None else f"{found.every_s:g}",
    }


def cut(cell: str) -> str:
    """Return a cell as far as it is shown."""
    plain = "".join(sign if sign.isprintable() else " " for sign in cell)
    return plain if len(plain) <= SHOWN_SIGNS else f"{plain[:SHOWN_SIGNS - 1]}…"


if __name__ == "__main__":
    sys.exit(main())
