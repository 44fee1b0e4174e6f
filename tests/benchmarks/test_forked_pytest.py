"""The forks of one process: each sees the files as they are, and none waits for ever."""

import os
import shutil
from pathlib import Path

import pytest

from benchmarks._forked_pytest import Forks

OWN = Path(__file__).parents[2] / "benchmarks" / "_forked_pytest.py"
GREEN, RED = 0, 1


@pytest.mark.slow
def test_each_run_sees_the_module_as_it_stands_and_one_that_never_ends_is_ended(tmp_path):
    (tmp_path / "benchmarks").mkdir()
    shutil.copy(OWN, tmp_path / "benchmarks")
    module, tests = tmp_path / "doubled.py", tmp_path / "test_doubled.py"
    tests.write_text("from doubled import doubled\n\ndef test_it():\n    assert doubled(3) == 6\n")
    forks = Forks(tmp_path, bound_s=2)
    found = []
    bodies = ("return 2 * x", "return 2 + x", "return x + x", "while x: pass", "return 2 * x  # again")
    for changed_s, body in enumerate(bodies):
        module.write_text(f"def doubled(x):\n    {body}\n")
        os.utime(module, (changed_s, changed_s))  # else Python runs the bytecode of the one before
        found.append(forks.run("-q", "-p", "no:cacheprovider", str(tests)))
    forks.close()
    codes = [code for code, _ in found]
    assert codes[:3] + codes[4:] == [GREEN, RED, GREEN, GREEN]
    assert codes[3] < 0
    assert "assert 5 == 6" in found[1][1]
