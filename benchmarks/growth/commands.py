"""A command run to its end in a process of its own: its time, its processor time and its largest memory."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import Any, NamedTuple


class Cost(NamedTuple):
    """What one run of a command took."""

    wall_s: float
    cpu_s: float
    """Of the command and its own children, in user and system mode."""
    peak_mb: float
    """Largest resident memory of the largest process [MB of 1024 kB]."""


def run(command: Sequence[str | Path], said: Path | None = None) -> Cost:
    """Run a command; return what it took.

    Parameters
    ----------
    command
        Program and arguments.
    said
        Where its output goes; nowhere without it.

    Raises
    ------
    RuntimeError
        Where it ends with another code than 0; with the last that it wrote to stderr.
    """
    with tempfile.TemporaryFile() as complaints, open(said or os.devnull, "wb") as output:
        began = perf_counter()
        process = subprocess.Popen([str(part) for part in command], stdout=output, stderr=complaints)
        _, status, used = os.wait4(process.pid, 0)
        wall_s = perf_counter() - began
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode:
            complaints.seek(0)
            raise RuntimeError(f"{' '.join(map(str, command))}: ended with {process.returncode}: "
                               f"{complaints.read()[-500:].decode(errors='replace')}")
    return Cost(wall_s, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024)


def lehrling(*arguments: str | Path) -> tuple[str | Path, ...]:
    """Return the command line of a command of Lehrling."""
    return (sys.executable, "-m", "daemon.cli", *arguments)


def middle(costs: Sequence[Cost]) -> Cost:
    """Return the median of each figure, and the largest memory."""
    return Cost(median(cost.wall_s for cost in costs), median(cost.cpu_s for cost in costs),
                max(cost.peak_mb for cost in costs))


def page(folder: Path, path: str, runs: int) -> dict[str, float]:
    """Return what a page costs in a process of its own, as ``benchmarks.growth.pages`` says."""
    with tempfile.TemporaryDirectory() as scratch:
        said = Path(scratch) / "said.json"
        run((sys.executable, "-m", "benchmarks.growth.pages", folder, path, str(runs)), said)
        found: dict[str, Any] = json.loads(said.read_text())
        return found
