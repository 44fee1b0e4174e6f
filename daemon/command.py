"""What a subcommand of ``lehrling`` is."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Command:
    """One subcommand, found by the command line through the entry points.

    Its module is imported whenever the command is called or listed, so heavy imports belong inside
    ``run``.
    """

    summary: str
    configure: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], int]
    """Return the exit code: 0 done, 3 a wake alert was raised. Raise BadInput for 2."""
