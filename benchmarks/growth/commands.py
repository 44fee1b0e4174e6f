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
from typing import Any, NamedTuple

from benchmarks.growth import launcher


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
    line = [str(part) for part in command]
    done = subprocess.run([sys.executable, "-S", Path(launcher.__file__), said or os.devnull, *line],
                          capture_output=True, text=True, errors="replace", check=True)
    wall_s, cpu_s, peak_kb, code = json.loads(done.stdout)
    if code:
        raise RuntimeError(f"{' '.join(line)}: ended with {code}: {done.stderr[-500:]}")
    return Cost(wall_s, cpu_s, peak_kb / 1024)


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
