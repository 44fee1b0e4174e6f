"""Long work for a page in a process of its own, one piece of a kind at a time."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from collections.abc import Mapping, Sequence
from typing import Any


class ChildProcess:
    """Runs a module that prints JSON.

    A page that waits holds a thread, and there are few: while one piece of work runs, no second one is begun.

    Parameters
    ----------
    module
        What runs, as ``python -m`` names it.
    longest_s
        Work that takes longer is ended [s].
    """

    def __init__(self, module: str, longest_s: float) -> None:
        self._module, self._longest_s = module, longest_s
        self.busy = threading.Lock()
        """Held while the work runs."""

    def run(self, arguments: Sequence[str]) -> Mapping[str, Any] | None:
        """Return what the module prints; None where it runs already, takes too long or fails."""
        if not self.busy.acquire(blocking=False):
            return None
        try:
            ran = subprocess.run([sys.executable, "-m", self._module, *arguments], capture_output=True, text=True,
                                 timeout=self._longest_s, check=False)
            said = json.loads(ran.stdout) if ran.returncode == 0 else None
        except (subprocess.TimeoutExpired, OSError, ValueError):
            return None
        finally:
            self.busy.release()
        return said if isinstance(said, dict) else None
