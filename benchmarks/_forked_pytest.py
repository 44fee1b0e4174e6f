"""Runs of pytest as forks of one process, which has imported pytest and the large libraries but nothing of the tree.

To import them takes half the time of a small test file. ``python -m benchmarks._forked_pytest BOUND`` is that
process: it reads what to run from its standard input, a JSON list of pytest's arguments a line, and writes
``[code, output]``.
The modules of the tree are imported in the fork, so that each run sees the files as they are.
"""

from __future__ import annotations

import contextlib
import gc
import importlib
import json
import os
import resource
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NoReturn

_LIBRARIES = ("pytest", "_pytest.unittest", "_pytest.warnings", "xdist.plugin", "xdist.looponfail",
              "hypothesis.strategies", "hypothesis.stateful", "numpy", "scipy.integrate", "sqlite_utils",
              "flask.testing")
_WALL_TIMES = 20
"""A run that waits for something instead of computing is ended after so many times its bound."""


class Forks:
    """The process that forks, for one copy of the repository.

    Parameters
    ----------
    tree
        Root of the copy.
    bound_s
        Processor time after which a run is ended [s].
    """

    def __init__(self, tree: Path, bound_s: int) -> None:
        self.tree = tree
        environment = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
        self._process = subprocess.Popen(
            [sys.executable, "-m", "benchmarks._forked_pytest", str(bound_s)], cwd=tree, text=True,
            env=environment | {"PYTHONPATH": str(tree)}, stdin=subprocess.PIPE, stdout=subprocess.PIPE)

    def run(self, *arguments: str) -> tuple[int, str]:
        """Run pytest with these arguments; return how it left (negative: ended by a signal) and what it wrote."""
        assert self._process.stdin
        assert self._process.stdout
        self._process.stdin.write(json.dumps(arguments) + "\n")
        self._process.stdin.flush()
        code, told = json.loads(self._process.stdout.readline())
        return code, told

    def close(self) -> None:
        """Let the process end."""
        self._process.communicate()


def _serve(bound_s: int) -> None:
    """Fork once for every line of standard input, until that ends."""
    for name in _LIBRARIES:
        with contextlib.suppress(ImportError):  # not installed, or private to another version of pytest
            importlib.import_module(name)
    gc.freeze()  # what is here already is no garbage of a test
    for line in sys.stdin:
        with tempfile.TemporaryDirectory() as work, Path(work, "told").open("w+", encoding="utf-8") as told:
            pid = os.fork()
            if pid == 0:
                _test([*json.loads(line), "--basetemp", os.path.join(work, "files")], told.fileno(), bound_s)
            code = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
            told.seek(0)
            sys.stdout.write(json.dumps([code, told.read()]) + "\n")
            sys.stdout.flush()


def _test(arguments: list[str], told: int, bound_s: int) -> NoReturn:
    """In the fork: be what ``python -m pytest`` would be."""
    import pytest

    code = 1
    try:
        resource.setrlimit(resource.RLIMIT_CPU, (bound_s, bound_s + 5))
        signal.alarm(_WALL_TIMES * bound_s)
        for number, file in enumerate((os.open(os.devnull, os.O_RDONLY), told, told)):
            os.dup2(file, number)
        sys.argv[:] = ["pytest", *arguments]
        code = int(pytest.main([*arguments, "-W", "ignore::pytest.PytestAssertRewriteWarning"]))  # imported before it
    finally:
        sys.stdout.flush()
        os._exit(code)


if __name__ == "__main__":
    _serve(int(sys.argv[1]))
