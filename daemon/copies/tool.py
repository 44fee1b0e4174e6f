"""A tool of the owner's called: with a bound, without a terminal, and ended with all that it started."""

from __future__ import annotations

import os
import signal
import subprocess
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from daemon.copies.place import NotTaken, capital

LONGEST_S = 3600.0
"""No call takes longer [s]. [from: daemon.copies.folder.LONGEST_S]"""
_TOLD = 300
"""So much of a tool's last words is shown [characters]. [chosen: its last line or two]"""


def call(called: str, words: Sequence[str], variables: Mapping[str, str], *, to: Path | None = None,
         empty: Sequence[int] = (), longest_s: float = LONGEST_S) -> str:
    """Return what a tool prints.

    Parameters
    ----------
    called
        What the place is called in a sentence.
    words
        The command.
    variables
        Set for it, besides the few of our own that it needs.
    to
        A file that takes what it prints, instead of the text returned.
    empty
        Exit codes that mean that there is nothing: whatever is printed then is dropped.
    longest_s
        Bound [s].

    Raises
    ------
    NotTaken
        Where it is not installed, takes too long or fails; with its last words.
    """
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "RESTIC_CACHE_DIR") if name in os.environ}
    try:
        with open(os.devnull if to is None else to, "wb") as file:
            tool = subprocess.Popen(
                words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE if to is None else file,
                stderr=subprocess.PIPE, env={**kept, "LC_ALL": "C.UTF-8", **variables}, start_new_session=True)
    except FileNotFoundError:
        raise NotTaken(f"{words[0]} is not installed, so {called} can’t be used.",
                       f"Install it: sudo apt install {words[0]}") from None
    except OSError as err:
        raise NotTaken(f"{words[0]} can’t be started: {err.strerror}.", "Install it anew.") from None
    try:
        said, told = tool.communicate(timeout=longest_s)
    except subprocess.TimeoutExpired:
        raise NotTaken(f"{capital(called)} is too slow: {words[0]} took over {longest_s / 60:.0f} min.",
                       "Look at the network and at the place itself.") from None
    finally:
        with suppress(ProcessLookupError):
            os.killpg(tool.pid, signal.SIGKILL)  # what it started, too; it leads a group of its own
        tool.communicate()
    if tool.returncode in empty:
        return ""
    if tool.returncode != 0:
        last = " ".join(told.decode(errors="replace").split())[-_TOLD:]
        raise NotTaken(f"{capital(called)} can’t be used. {words[0]} says: {last or f'exit {tool.returncode}'}",
                       "Try the tool by hand, as docs/install.md, “A copy elsewhere”, says.")
    return (said or b"").decode(errors="replace")
