"""What a day of a firing costs: ``python -m benchmarks.bench_day``.

``lehrling replay`` judges 17,280 readings, 24 h of one each 5 s, with the glass of 12 mm. Its processor time, with
start-up, is divided by that of ``x += i * i % 7`` twenty million times. That loop runs before and after it, so that
the figure says little of the machine. The median and the lowest of a few such turns are printed.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median

from daemon.firing.plan.plan import parse_plan
from simulations.firing import simulate

TURNS = 5
AIM = 0.55
READINGS = 17_280
KEEPS_COMPILED = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
"""The environment of the processes, in which Python keeps what it compiled, as where the program is installed. Where
that is forbidden, as in a container, every replay compiles all modules anew: about 0.08 times the loop."""
LOOP = "x = 0\nfor i in range(20_000_000):\n    x += i * i % 7\n"
PLAN = """title = "A day of 12 mm"
unit = "C"
step = [
    { rate = 110, to = 620 }, { rate = 50, to = 670, hold_min = 30 }, { rate = 250, to = 800, hold_min = 12 },
    { rate = "free", to = 516, hold_min = 120 }, { rate = 25, to = 461 }, { rate = 45, to = 406 },
    { rate = 70, to = 60 },
]
"""


def processor_s(command: list[str]) -> float:
    """Return the processor time of a command [s]."""
    before = os.times()
    subprocess.run(command, stdout=subprocess.DEVNULL, check=False, timeout=300, env=KEEPS_COMPILED)
    after = os.times()
    return after.children_user + after.children_system - before.children_user - before.children_system


def main() -> int:
    """Print the ratio of each turn, and what they come to."""
    with tempfile.TemporaryDirectory() as folder:
        plan, trace = Path(folder, "day.toml"), Path(folder, "day.csv")
        plan.write_text(PLAN, encoding="utf-8")
        samples = simulate(parse_plan(PLAN, "day.toml"), until_c=0.0, longest_s=READINGS * 5.0 - 5.0).samples
        rows = [f"{s.t_s:g},{'' if s.temp_c is None else f'{s.temp_c:.3f}'},{s.fault or ''}\n" for s in samples]
        trace.write_text("seconds,celsius,fault\n" + "".join(rows), encoding="utf-8")
        replay = [str(Path(sys.executable).with_name("lehrling")), "replay", str(trace), "--plan", str(plan),
                  "--glass", "90", "--thickness-mm", "12", "--json"]
        processor_s(replay)  # once for nothing: Python may have to compile it
        ratios = []
        for _ in range(TURNS):
            loop_s = processor_s([sys.executable, "-c", LOOP])
            replay_s = processor_s(replay)
            loop_s = (loop_s + processor_s([sys.executable, "-c", LOOP])) / 2
            ratios.append(replay_s / loop_s)
            sys.stdout.write(f"replay {replay_s:.2f} s, loop {loop_s:.2f} s: {ratios[-1]:.2f}\n")
    sys.stdout.write(f"{len(samples):,} readings: {median(ratios):.2f} times the loop, at best {min(ratios):.2f} "
                     f"(aim {AIM:g})\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
