"""What a watcher of some commit makes of a firing: the trace goes to its ``replay --json`` as a file.

The older watcher runs from its own files, in a folder that ``git archive`` fills, so that nothing of today's code
judges for it. Both are given the same file, without the lowest and highest reading of each five seconds, which a
trace does not have.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tarfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any, NamedTuple

from daemon.files import write_text
from daemon.firing.events import Sample
from daemon.firing.plan.plan import write_plan
from daemon.firing.trace.csv_trace import write_trace
from simulations.cases import ToJudge

ROOT = Path(__file__).parents[2]
TODAY = "today"
_TIMEOUT_S = 300.0
"""No replay may take longer [s]. [chosen: a hundred times what one takes]"""


@dataclass(frozen=True)
class Told:
    """An alert as ``replay --json`` prints it; times in seconds from the start press."""

    kind: str
    rank: str
    raised_s: float
    woke_s: float | None
    under: str | None
    what: str
    meaning: str
    time_left_s: float | None

    @property
    def woke(self) -> bool:
        """Return whether it woke somebody."""
        return self.rank == "wake"

    @property
    def at_s(self) -> float:
        """Return when it woke, or where it did not, when it was raised [s]."""
        return self.raised_s if self.woke_s is None else self.woke_s


class Found(NamedTuple):
    """A part of the plan as the watcher found it."""

    step: int
    part: str
    start_s: float
    end_s: float | None


@dataclass(frozen=True)
class Judged:
    """What a watcher made of a firing.

    Attributes
    ----------
    told
        Its alerts but those that are only noted.
    parts
        Where in the plan it thought the kiln to be.
    glass
        What the glass went through, as the JSON has it.
    answers
        The verdict's answers by their questions.
    """

    told: tuple[Told, ...]
    parts: tuple[Found, ...]
    glass: Mapping[str, Any]
    answers: Mapping[str, str]

    @property
    def heard(self) -> list[Told]:
        """Return the alerts that somebody was told by themselves, wakes and looks."""
        return [told for told in self.told if told.under is None]


def read(report: Mapping[str, Any]) -> Judged:
    """Return what the JSON of a replay says."""
    told = [
        Told(a["kind"], a["rank"], a["raised_s"], a["woke_s"], a["under"], a["text"]["what"], a["text"]["meaning"],
             a["text"]["time_left_s"])
        for a in report["alerts"] if a["rank"] != "log"
    ]
    parts = [Found(p["step"], p["part"], p["start_s"], p["end_s"]) for p in report["parts"]]
    answers = {answer["question"]: answer["answer"] for answer in report["verdict"]}
    return Judged(tuple(told), tuple(parts), report["glass"] or {}, answers)


def checked_out(commit: str, into: Path) -> Path:
    """Fill the folder with the files of a commit and return it; CalledProcessError where there is no such commit."""
    packed = subprocess.run(["git", "archive", commit], cwd=ROOT, capture_output=True, check=True).stdout
    with tarfile.open(fileobj=BytesIO(packed)) as archive:
        archive.extractall(into, filter="data")
    return into


def judged_by(files: Path, case: ToJudge, samples: Sequence[Sample], scratch: Path) -> Judged:
    """Return what the watcher whose files these are makes of the readings.

    Parameters
    ----------
    files
        A clone, or what ``checked_out`` filled.
    case
        The plan, glass and thickness that it is told.
    samples
        The readings.
    scratch
        An empty folder for trace and plan.

    Raises
    ------
    RuntimeError
        With what was printed, where it printed no report.
    """
    trace, plan = scratch / "trace.csv", scratch / "plan.toml"
    write_text(str(trace), "".join(write_trace(samples)), like="seconds,celsius")
    write_text(str(plan), write_plan(case.plan), like='title = "')
    asked = [sys.executable, "-m", "daemon.cli", "replay", str(trace), "--plan", str(plan), "--glass", case.glass,
             "--thickness-mm", f"{case.thickness_mm:g}", "--json"]
    if case.is_offset_known:
        asked += ["--offset-c", f"{case.offset_k:g}"]
    ran = subprocess.run(asked, cwd=files, env={**os.environ, "PYTHONPATH": str(files)}, capture_output=True,
                         text=True, timeout=_TIMEOUT_S, check=False)
    if not ran.stdout:
        raise RuntimeError(f"{case.name}: the watcher in {files} printed no report. {ran.stderr[-500:]}")
    return read(json.loads(ran.stdout))
