"""Starting a service afresh in the same process, as it was started: its parent, and systemd, see nothing of it."""

from __future__ import annotations

import os
import sys
from typing import NoReturn


def restart_process() -> NoReturn:
    """Begin again, with new settings; the kernel closes what is open, since Python lets no file be inherited."""
    sys.stdout.flush()
    sys.stderr.flush()
    os.execv(sys.executable, sys.orig_argv)
