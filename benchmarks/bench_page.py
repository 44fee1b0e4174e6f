"""The page: long lists, bytes, and how soon a firing of 48 h is seen: ``python -m benchmarks.bench_page``.

Serves an invented store from a process of its own, asks it as a browser would, and drives Debian's Chromium
(/usr/bin/chromium) at it, once with an empty cache, once more, and six times with a warm one; then on a CPU four
times slower. The lists have photographs, and one of 11 MB is sent at the end.
"""

from __future__ import annotations

import gzip
import json
import re
import socket
import subprocess
import sys
import tempfile
import threading
import urllib.request
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from time import perf_counter, sleep
from typing import TYPE_CHECKING, Any

from benchmarks._chromium import carried, seen, throttled
from benchmarks._photographs import LISTED, put_thumbnails, sand, send
from daemon.firing.events import Alert, AlertChanged, Part, Rank, Sample, Text
from daemon.firing.plan.plan import parse_plan
from daemon.firing.plan.schedule import at, curve, planned_parts
from daemon.store import (
    alerts,
    firings,
    found_parts,
    judgements,
    kilns,
    outcomes,
    photographs,
    pieces,
    plans,
    readings,
)
from daemon.store.database import FILE_NAME, create_database

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlite_utils import Database

FIRINGS = 5000
LONG_S = 48 * 3600
VIEWERS = 10
LIST_AIM_MS, PLOT_AIM_MS, BYTES_AIM = 100, 1000, 150_000
PLAN = """title = "A thick casting, invented"
unit = "C"

[[step]]
rate = 60
to = 820
hold_min = 240

[[step]]
rate = "free"
to = 516
hold_min = 600

[[step]]
rate = 14
to = 400

[[step]]
rate = 40
to = 60
"""


def fill(folder: Path) -> int:
    """Make a store with 5,000 ended firings and one of 48 h; return the long one's id.

    Each has a photograph; the files of those on the first page of a list are there.
    """
    db = create_database(folder / FILE_NAME)
    now = datetime.now(UTC)  # noqa: TID251 - a stamp for the record, nothing is timed by it
    kiln = kilns.kiln_id(db, "Kiln")
    probe = kilns.probe_id(db, kiln, "bench", "K")
    plan = plans.add_plan(db, PLAN, now)

    def one(title: str, starts: datetime, piece_ids: tuple[int, ...] = ()) -> int:
        return firings.open_firing(db, kiln_id=kiln, probe_id=probe, title=title, opened_by="maker",
                                   started_utc=starts, boot_id="bench", clock_s=0.0, plan_id=plan, invented=True,
                                   piece_ids=piece_ids)

    for number in range(FIRINGS):
        starts = now - timedelta(days=FIRINGS - number + 3)
        if number % 2 == 0:
            piece = pieces.add_piece(db, name=f"Piece {number}", glass="90", thickness_mm=6.0, now_utc=starts)
        firing_id = one(f"Invented firing {number}", starts, (piece,))
        _look_at(db, firing_id, piece, number, starts)
        readings.append(db, firing_id, [Sample(float(t), 20.0 + t / 10) for t in range(0, 600, 60)])
        firings.end_firing(db, firing_id, 54_000.0, starts, "maker")
    parts = planned_parts(parse_plan(PLAN, "the benchmark's plan"))
    points = curve(parts)
    long_id = one("Casting, 48 h", now - timedelta(seconds=LONG_S))
    readings.append(db, long_id, [
        Sample(float(t), (at(points, t) or 60.0) + 0.4 * (t // 5 % 5 - 2)) for t in range(0, LONG_S, 5)])
    found_parts.replace_parts(db, long_id, [
        Part(p.index, p.step, p.part, a[0], b[0]) for p, a, b in zip(parts, points, points[1:], strict=False)])
    firings.end_firing(db, long_id, LONG_S, now, "maker")
    db.close()
    put_thumbnails(folder, [f"{number:064x}" for number in range(FIRINGS - 2 * LISTED, FIRINGS)])
    return long_id


def _look_at(db: Database, firing_id: int, piece: int, number: int, utc: datetime) -> None:
    """Give a firing what a list shows: how it came out, a photograph, its judgement and, each fourth, an alarm."""
    outcomes.add_outcome(db, firing_id=firing_id, piece_id=piece, words=["clear"], place="", note="", now_utc=utc)
    photographs.add_photograph(db, piece_id=piece, firing_id=None, moment="after", mark=f"{number:064x}", width=160,
                               height=120, caption="", now_utc=utc)
    judgements.add_judgement(db, firing_id, {"peak_c": 812.0, "verdict": [], "glass": None}, "0", utc)
    if number % 4 == 0:
        alert = Alert(1, "sudden-drop", Rank.WAKE, 100.0, 130.0, Text("Dropped.", "A lid?", "Look."), woke_s=130.0)
        alerts.record(db, firing_id, AlertChanged(130.0, "woke", alert), utc)


@contextmanager
def served(folder: Path) -> Iterator[tuple[str, int]]:
    """Serve the folder; give the page's address and the process id."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        port = trial.getsockname()[1]
    server = subprocess.Popen(
        [sys.executable, "-m", "daemon.cli", "web", "--data", str(folder), "--run", str(folder), "--open",
         "--port", str(port)], stderr=subprocess.PIPE)
    try:
        assert server.stderr is not None
        server.stderr.readline()
        yield f"http://127.0.0.1:{port}", server.pid
    finally:
        server.terminate()
        server.wait(10)


def get(address: str) -> bytes:
    """Return what stands at an address."""
    with urllib.request.urlopen(address, timeout=30) as answer:
        found: bytes = answer.read()
    return found


def ms_of(address: str, runs: int = 15) -> float:
    """Return the median time of an answer [ms]."""
    took = []
    for _ in range(runs):
        began = perf_counter()
        get(address)
        took.append(perf_counter() - began)
    return round(median(took) * 1000, 1)


def weight(address: str, path: str) -> int:
    """Return the bytes of a page with its own styles and scripts, uncompressed."""
    page = get(address + path).decode()
    return len(page.encode()) + sum(len(get(address + a)) for a in set(re.findall(r'"(/static/[^"]+)"', page)))


def rss_mb(pid: int) -> float:
    """Return what a process holds in memory [MB]."""
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return round(next(int(line.split()[1]) for line in lines if line.startswith("VmRSS")) / 1000, 1)


def polled(address: str, pid: int, seconds: float = 15.0) -> dict[str, float]:
    """Return what ten viewers cost the server: each looks at a list and its thumbnails, then at Now every 3 s."""
    stop = threading.Event()

    def look() -> None:
        page = get(address + "/firings").decode()
        for picture in re.findall(r'src="(/photographs/[^"]+)"', page)[:10]:
            get(address + picture)
        while not stop.is_set():
            get(address + "/now.json")
            stop.wait(3.0)

    def cpu_s() -> float:
        fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / 100

    viewers = [threading.Thread(target=look) for _ in range(VIEWERS)]
    for viewer in viewers:
        viewer.start()
        sleep(0.3)
    before = cpu_s()
    sleep(seconds)
    share = (cpu_s() - before) / seconds
    stop.set()
    for viewer in viewers:
        viewer.join()
    return {"viewers_cpu_percent": round(share * 100, 1), "viewers_rss_mb": rss_mb(pid)}


def photographed(address: str, pid: int) -> dict[str, float]:
    """Return what the page's process holds once it has taken in a photograph of 11 MB."""
    picture = sand()
    began = perf_counter()
    status = send(address, "/pieces/1/photographs", picture)
    took_s = perf_counter() - began
    assert status == 303, status
    return {"photograph_mb": round(len(picture) / 1e6, 1), "photograph_s": round(took_s, 1),
            "photograph_rss_mb": rss_mb(pid)}


def main() -> int:
    """Print the figures beside what they are to reach."""
    from web.request.assets import script

    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        long_id = fill(folder)
        with served(folder) as (address, pid):
            firing = f"/firings/{long_id}"
            figures: dict[str, Any] = {
                "list_ms": ms_of(address + "/firings"), "list_page_80_ms": ms_of(address + "/firings?page=80"),
                "list_found_ms": ms_of(address + "/firings?q=firing+49"), "pieces_ms": ms_of(address + "/pieces"),
                "small_curve_ms": ms_of(address + firing + "/curve.svg", 1),
                "list_aim_ms": LIST_AIM_MS, "firing_page_ms": ms_of(address + firing),
                "firing_page_bytes": weight(address, firing), "now_bytes": weight(address, "/"),
                "list_bytes": weight(address, "/firings"), "bytes_aim": BYTES_AIM,
                "trace_json_ms": ms_of(f"{address}{firing}/trace.json"),
                "trace_json_bytes": len(get(f"{address}{firing}/trace.json")),
                "trace_json_gzip": len(gzip.compress(get(f"{address}{firing}/trace.json"))),
                "plotly_gzip": len(script().packed), **seen(address + firing), "plot_aim_ms": PLOT_AIM_MS,
                "slow_cpu_firing": throttled(address, firing, "summary"),
                "slow_cpu_list": throttled(address, "/firings", "summary"),
                "slow_cpu_pieces": throttled(address, "/pieces", "input[type=search]"),
                "firing_carried": carried(address, firing), "list_carried": carried(address, "/firings"),
                "pieces_carried": carried(address, "/pieces"),
                "search_ms": ms_of(address + "/firings?q=firing+4321"), "kiln_ms": ms_of(address + "/kiln"),
                "now_json_ms": ms_of(address + "/now.json"), **polled(address, pid),
                **photographed(address, pid),
            }
    sys.stdout.write(json.dumps(figures, indent=1) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
