"""The processes of a demonstration: started together, looked after, and all gone at its end."""

from __future__ import annotations

import ctypes
import signal
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from types import TracebackType

_PATIENCE_S = 10.0
"""How long a process may take to end by itself [s]. [chosen: what they hold is written within a second or two]"""
_LAST_LINES = 8
"""Lines of a log shown where its process has died. [chosen: an error and what led to it]"""
_PR_SET_PDEATHSIG = 1
"""The request to send a signal when the parent dies. [source: Linux prctl(2), sys/prctl.h]"""


class Processes:
    """Child processes with their logs; leaving the ``with`` block ends them in reverse order.

    Parameters
    ----------
    log_dir
        Where each one's output goes, as NAME.log.
    """

    def __init__(self, log_dir: Path) -> None:
        self._log_dir = log_dir
        self._children: dict[str, subprocess.Popen[bytes]] = {}

    def __enter__(self) -> Processes:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, where: TracebackType | None,
    ) -> None:
        self.stop()

    def start(self, name: str, arguments: Sequence[str]) -> None:
        """Start ``lehrling`` with ``arguments`` in a process of its own, deaf to the terminal's Ctrl-C."""
        with self.log(name).open("wb") as log:
            self._children[name] = subprocess.Popen(
                [sys.executable, "-m", "daemon.cli", *arguments], stdin=subprocess.DEVNULL, stdout=log,
                stderr=subprocess.STDOUT, start_new_session=True, preexec_fn=end_with_parent,
            )

    def log(self, name: str) -> Path:
        """Return where the output of a process goes."""
        return self._log_dir / f"{name}.log"

    def died(self) -> str | None:
        """Return the name of a process that has ended; None while all run."""
        return next((name for name, child in self._children.items() if child.poll() is not None), None)

    def last_lines(self, name: str) -> str:
        """Return the last lines a process wrote."""
        lines = self.log(name).read_text(encoding="utf-8", errors="replace").strip().splitlines()
        return "\n".join(lines[-_LAST_LINES:])

    def stop(self) -> None:
        """Ask all to end, the last started first, and insist where one does not."""
        for child in reversed(self._children.values()):
            if child.poll() is None:
                child.send_signal(signal.SIGTERM)
        for child in reversed(self._children.values()):
            try:
                child.wait(_PATIENCE_S)
            except subprocess.TimeoutExpired:
                child.kill()
                child.wait()
        self._children.clear()


def end_with_parent() -> None:
    """Have the kernel end this process when the one that started it is gone, even killed (Linux)."""
    ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGTERM)
