"""The figures as a table, what was missed said first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from benchmarks.growth.commands import Cost
from benchmarks.growth.record import Grown

BYTES_AIM = 24.0
"""Of a stored reading with its share of the chain [bytes], as ``benchmarks.bench_store`` counts them."""
DAEMON_AIM_MB = 60.0
DAEMON_SPREAD_MB = 3.0
"""The daemon's memory counts as independent of the record where the sizes differ by no more [MB]. [chosen: twice as
much as runs on one record differed by]"""
PAGES = {
    "List of firings, first page": ("/firings", 100.0),
    "List of firings, last full page": ("/firings?page={late}", 100.0),
    "List of firings, a word of a title": ("/firings?q=river", 200.0),
    "Search everything": ("/find?q=haze+rim", 200.0),
    "Questions": ("/questions", None),
    "A firing": ("/firings/{last}", 200.0),
    "Two firings compared": ("/compare?firing={first}&firing={last}", None),
}
"""Name, path, and the longest that an answer may take at the server [ms]; None where nothing was promised."""
COPY, VERIFY, EXPORT = "lehrling copies make", "lehrling archive verify", "lehrling archive export --piece"
Asked = Mapping[str, float]
"""What ``benchmarks.growth.pages.ask`` gives."""


@dataclass(frozen=True, slots=True)
class Size:
    """What was measured on a record of one size."""

    record: Grown
    pages: Mapping[str, Asked]
    """By the name in PAGES."""
    commands: Mapping[str, Cost]
    daemon: Mapping[str, object] = field(default_factory=dict)
    """What ``benchmarks.daemon_at_rest`` gives; empty where that was left out."""


def missed(sizes: Sequence[Size]) -> list[str]:
    """Return a sentence for each figure that was not reached; times are those by the clock."""
    said = []
    for size in sizes:
        of = f"with {size.record.firings:,} firings"
        per_reading = size.record.bytes_of_readings / size.record.readings
        if per_reading > BYTES_AIM:
            said.append(f"A reading takes {per_reading:.1f} bytes {of}; {BYTES_AIM:g} were promised.")
        for name, (_, aim_ms) in PAGES.items():
            took = size.pages[name]
            if aim_ms is not None and took["ms"] > aim_ms:
                said.append(f"{name}: {took['ms']:.0f} ms {of}, of these {took['cpu_ms']:.0f} ms of the processor; "
                            f"{aim_ms:g} ms were promised.")
    return said + _memory_missed(sizes)


def _memory_missed(sizes: Sequence[Size]) -> list[str]:
    """Return what the daemon's memory missed."""
    held = {size.record.firings: float(str(size.daemon["resident_mb"])) for size in sizes if size.daemon}
    said = [f"The daemon holds {mb:.1f} MB with {firings:,} firings; {DAEMON_AIM_MB:g} were promised."
            for firings, mb in held.items() if mb > DAEMON_AIM_MB]
    if held and max(held.values()) - min(held.values()) > DAEMON_SPREAD_MB:
        said.append(f"The daemon's memory is not the same for all records: {min(held.values()):.1f} to "
                    f"{max(held.values()):.1f} MB.")
    return said


def table(sizes: Sequence[Size]) -> str:
    """Return the figures as a table of Markdown, a column a size."""
    rows = [["", "aim", *(f"{size.record.firings:,} firings" for size in sizes)],
            ["---", "--:", *("--:" for _ in sizes)],
            ["Stored readings", "", *(f"{size.record.readings:,}" for size in sizes)],
            ["The file [MB]", "", *(f"{size.record.bytes_in_all / 1e6:,.1f}" for size in sizes)],
            ["Readings with their chain, bytes a reading", f"{BYTES_AIM:g}",
             *(f"{size.record.bytes_of_readings / size.record.readings:.1f}" for size in sizes)],
            ["The whole file, bytes a reading", "",
             *(f"{size.record.bytes_in_all / size.record.readings:.1f}" for size in sizes)]]
    for name, (_, aim_ms) in PAGES.items():
        rows.append([name, "" if aim_ms is None else f"{aim_ms:g} ms",
                     *(_page_cell(size.pages[name]) for size in sizes)])
    for name in (COPY, VERIFY, EXPORT):
        rows.append([f"`{name}`", "", *(_command_cell(size.commands[name]) for size in sizes)])
    if all(size.daemon for size in sizes):
        rows.append(["The daemon, a firing open", f"{DAEMON_AIM_MB:g} MB, 1 %", *(
            f"{size.daemon['resident_mb']} MB, {float(str(size.daemon['share_of_a_core'])):.1%}" for size in sizes)])
    return "".join(f"| {' | '.join(row)} |\n" if row[0] != "---" else f"|{'|'.join(row)}|\n" for row in rows)


def _page_cell(took: Asked) -> str:
    return f"{took['ms']:.0f} ms, {took['cpu_ms']:.0f} cpu; {took['peak_mb']:.0f} MB"


def _command_cell(cost: Cost) -> str:
    return f"{cost.wall_s:.1f} s, {cost.cpu_s:.1f} cpu; {cost.peak_mb:.0f} MB"
