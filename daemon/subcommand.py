"""What a subcommand of ``lehrling`` is."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass

WAKE_RAISED = 3
"""Exit code of a command that judged a firing and found a wake alert. [chosen: 2 is bad input]"""


@dataclass(frozen=True)
class Command:
    """One subcommand, found by the command line through the entry points.

    Its module is imported whenever the command is called or listed, so heavy imports belong inside
    ``run``.
    """

    summary: str
    configure: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], int]
    """Return the exit code: 0 done, WAKE_RAISED where one was. Raise BadInput for 2."""
