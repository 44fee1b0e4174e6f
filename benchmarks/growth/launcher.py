"""Starts a command from a process that holds little memory: ``python -S launcher.py OUTPUT COMMAND ...``.

Linux counts in the largest memory of a program also that of the process that started it, as it was at the start
(getrusage(2): ru_maxrss is kept across execve). So a large process cannot measure a small one. Prints JSON: seconds
by the clock, seconds of the processor, largest memory [kB], exit code.
"""

import json
import os
import subprocess
import sys
from time import perf_counter


def main() -> int:
    """Run the command, print what it took, and return 0."""
    with open(sys.argv[1], "wb") as output:
        began = perf_counter()
        process = subprocess.Popen(sys.argv[2:], stdout=output)
        _, status, used = os.wait4(process.pid, 0)
        wall_s = perf_counter() - began
    process.returncode = os.waitstatus_to_exitcode(status)
    sys.stdout.write(json.dumps([wall_s, used.ru_utime + used.ru_stime, used.ru_maxrss, process.returncode]))
    return 0


if __name__ == "__main__":
    sys.exit(main())
