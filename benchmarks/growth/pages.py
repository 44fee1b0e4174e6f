"""A page asked through the Flask app, in a process of its own.

``python -m benchmarks.growth.pages FOLDER PATH RUNS`` prints JSON: the time of the first answer and the median of the
next ones, by the clock and of the processor, and the largest memory of the process.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

from web.app import create_app
from web.settings import Settings


def ask(folder: Path, path: str, runs: int) -> dict[str, float]:
    """Ask a page once and then ``runs`` times more.

    Parameters
    ----------
    folder
        The data folder.
    path
        Of the page, with its query.
    runs
        At least 1.

    Returns
    -------
    dict
        ``first_ms``, ``ms``, ``cpu_ms`` (medians), ``kb`` of the answer and ``peak_mb`` of this process.

    Raises
    ------
    RuntimeError
        Where the answer is not the page itself.
    """
    app = create_app(Settings(folder, folder, kiln="Kiln", open_house=True))
    client = app.test_client()
    walls, cpus, size = [], [], 0
    for _ in range(runs + 1):
        began, cpu = perf_counter(), process_time()
        answer = client.get(path)
        size = len(answer.data)
        walls.append((perf_counter() - began) * 1000)
        cpus.append((process_time() - cpu) * 1000)
        if answer.status_code != 200:
            raise RuntimeError(f"{path}: answered {answer.status}")
        answer.close()
    status = Path("/proc/self/status").read_text(encoding="ascii")
    peak_kb = next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmHWM"))
    return {"first_ms": walls[0], "ms": median(walls[1:]), "cpu_ms": median(cpus[1:]), "kb": size / 1000,
            "peak_mb": peak_kb / 1024}


if __name__ == "__main__":
    sys.stdout.write(json.dumps(ask(Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]))) + "\n")
