from __future__ import annotations

import subprocess
import sys

import pytest

# In a process of its own: what other tests have left lying about would make the figures uncertain.
FREED = """
import ctypes
from pathlib import Path
from daemon.service.free_memory import give_back

def resident_mb():
    line = next(line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmRSS"))
    return int(line.split()[1]) / 1024

pieces = [bytes(4000) for _ in range(10_000)]
last = pieces.pop()
full_mb = resident_mb()
pieces.clear()
kept_mb = resident_mb()
assert give_back()
print(full_mb - kept_mb, kept_mb - resident_mb())
"""


@pytest.mark.skipif(sys.platform != "linux", reason="the figures come from /proc")
def test_what_lies_freed_before_a_piece_in_use_is_given_back():
    done = subprocess.run([sys.executable, "-c", FREED], capture_output=True, text=True, timeout=60, check=True)
    by_itself_mb, given_back_mb = map(float, done.stdout.split())
    assert by_itself_mb < 10  # of 40 MB
    assert given_back_mb > 30
