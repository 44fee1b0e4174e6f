"""Eleven mechanisms by which a watcher erred, before and after: ``python -m benchmarks.mechanisms [FOLDER]``.

Each firing is simulated once. Its trace is judged by the watcher of an older commit, which runs from that commit's
own files, and by today's. A second page argues three wakes that were withheld and three that were kept. Pages and
pictures go into the folder; without one the pages are printed. It takes a minute and a half of processor time.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tqdm import tqdm

from benchmarks.mechanisms import wakes
from benchmarks.mechanisms.firings import MECHANISMS, firings
from benchmarks.mechanisms.page import Row, page
from benchmarks.mechanisms.pictures import picture, pictures
from benchmarks.mechanisms.shown import BEFORE, Shown
from benchmarks.mechanisms.watchers import ROOT, checked_out, judged_by
from daemon.files import write_text
from simulations.studies.small_picture import sheet

_JOBS = 2
"""Replays at a time. [chosen: a small machine has so many cores]"""


def main(arguments: list[str] | None = None) -> int:
    """Judge, write, and return 0."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.mechanisms", description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("folder", type=Path, nargs="?", help="where page and pictures go")
    parser.add_argument("--before", default=BEFORE, metavar="COMMIT", help=f"the older watcher (default: {BEFORE})")
    parser.add_argument("--only", type=int, metavar="NUMBER", help="one mechanism, printed")
    args = parser.parse_args(arguments)
    if args.only is not None and args.folder is not None:
        parser.error("--only prints the page of one mechanism. Give no FOLDER, which has the page of all.")
    wanted = [shown for shown in firings() if args.only in (None, shown.mechanism)]
    with tempfile.TemporaryDirectory() as scratch:
        rows = judged_twice(wanted, args.before, Path(scratch))
        argued = [] if args.only is not None else argued_today(Path(scratch))
    command = "python -m benchmarks.mechanisms docs/figures"
    command += f" --before {args.before}" if args.before != BEFORE else ""
    for name, text in written(rows, argued, command).items():
        if args.folder is None:
            sys.stdout.write(text if name.endswith(".md") else "")
        else:
            (args.folder / name).parent.mkdir(parents=True, exist_ok=True)
            write_text(str(args.folder / name), text, like=text[:4])
    return 0


def written(rows: Sequence[Row], argued: Sequence[Row], command: str) -> dict[str, str]:
    """Return the pages and pictures by their names in the folder; ``argued`` holds the wakes that are argued."""
    day = _day("HEAD")
    name, second = f"mechanisms-{day}", f"wakes-argued-{day}"
    files = {f"{name}.md": page(rows, _commits(rows), day, command, name)}
    for number, mechanism in MECHANISMS.items():
        own = [(row.shown, row.fired, row.before, row.today) for row in rows if row.shown.mechanism == number]
        if own:
            files[f"{name}/{number}.svg"] = pictures(f"{number}. {mechanism.title}", own)
    if argued:
        judged = [(one, row.fired, row.today) for one, row in zip(wakes.argued(), argued, strict=True)]
        files[f"{second}.md"] = wakes.page(judged, _named("HEAD"), day, command, f"{second}.svg")
        cells = [picture(row.shown, row.fired, row.today, f"{row.shown.letter}: {one.case.name}")
                 for (one, _, _), row in zip(judged, argued, strict=True)]
        files[f"{second}.svg"] = sheet(cells, "Three findings, withheld and kept", 2)
    return files


def argued_today(scratch: Path) -> list[Row]:
    """Return the firings whose wakes are argued, judged by today's watcher only."""
    rows = []
    for number, one in enumerate(tqdm(wakes.argued(), disable=None, unit="wake")):
        fired = one.case.fire()
        today = judged_by(ROOT, one.case, fired.samples, _made(scratch / f"argued-{number}"))
        rows.append(Row(one.shown(), fired, today, today))
    return rows


def judged_twice(wanted: list[Shown], before: str, scratch: Path) -> list[Row]:
    """Return the firings, each judged by the watcher of its older commit, or ``before``, and by today's."""
    commits = {shown.before if shown.before != BEFORE else before for shown in wanted}
    older = {commit: checked_out(commit, _made(scratch / commit)) for commit in commits}

    def row(shown: Shown) -> Row:
        own = _made(scratch / f"firing-{shown.name}")
        fired = shown.case.fire()
        files = older[shown.before if shown.before != BEFORE else before]
        return Row(shown, fired, judged_by(files, shown.case, fired.samples, own),
                   judged_by(ROOT, shown.case, fired.samples, own))

    with ThreadPoolExecutor(_JOBS) as pool:
        return list(tqdm(pool.map(row, wanted), total=len(wanted), disable=None, unit="firing"))


def _made(folder: Path) -> Path:
    """Make a folder and return it."""
    folder.mkdir()
    return folder


def _commits(rows: Sequence[Row]) -> dict[str, str]:
    """Return what the page says of each commit, by the name that it has there."""
    older = sorted({row.shown.before for row in rows} - {BEFORE})
    names = {"before": BEFORE, **{f"before, in {_firings_of(rows, commit)}": commit for commit in older},
             "today": "HEAD"}
    return {name: _named(commit) for name, commit in names.items()}


def _named(commit: str) -> str:
    """Return a commit as the pages name it."""
    return f"`{_git('rev-parse', '--short', commit)}` of {_day(commit)}"


def _firings_of(rows: Sequence[Row], commit: str) -> str:
    """Return the names of the firings that are shown with the watcher of a commit."""
    return " and ".join(row.shown.name for row in rows if row.shown.before == commit)


def _day(commit: str) -> str:
    """Return the day of a commit."""
    return _git("show", "-s", "--format=%cs", commit)


def _git(*words: str) -> str:
    """Return what git prints."""
    return subprocess.run(["git", *words], cwd=ROOT, capture_output=True, text=True, check=True).stdout.strip()


if __name__ == "__main__":
    sys.exit(main())
