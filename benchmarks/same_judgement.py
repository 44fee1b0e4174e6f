"""Whether a change of the code changed what firings are judged to be: ``python -m benchmarks.same_judgement``.

Three steps. ``corpus`` writes firings of the bench as folders with ``trace.csv.gz``, ``plan.toml`` and
``truth.json``; labelled firings from elsewhere come in the same layout. ``record`` replays every firing of the
given folders with the ``lehrling`` of this environment and keeps its JSON. ``compare`` prints what differs
between two such records and leaves with 1 if anything does.

    python -m benchmarks.same_judgement corpus FOLDER --number 79 --seed 31
    python -m benchmarks.same_judgement record before.json FOLDER ...
    python -m benchmarks.same_judgement compare before.json after.json
"""

from __future__ import annotations

import argparse
import gzip
import json
import os
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from tqdm import tqdm

TIMEOUT_S = 300.0


def main(arguments: list[str] | None = None) -> int:
    """Run one of the three steps; return its exit code."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.same_judgement", description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    steps = parser.add_subparsers(dest="step", required=True)
    corpus = steps.add_parser("corpus", help="write firings of the bench")
    corpus.add_argument("out", type=Path)
    corpus.add_argument("--number", type=int, default=79)
    corpus.add_argument("--seed", type=int, default=31)
    record = steps.add_parser("record", help="replay every firing and keep the JSON")
    record.add_argument("out", type=Path)
    record.add_argument("folders", type=Path, nargs="+")
    compare = steps.add_parser("compare", help="print what differs between two records")
    compare.add_argument("before", type=Path)
    compare.add_argument("after", type=Path)
    args = parser.parse_args(arguments)
    if args.step == "corpus":
        return _corpus(args.out, args.number, args.seed)
    if args.step == "record":
        return _record(args.out, args.folders)
    return _compare(json.loads(args.before.read_text()), json.loads(args.after.read_text()))


def _corpus(out: Path, number: int, seed: int) -> int:
    """Write a third clean firings, a sixth harsh ones, and the rest faulty ones, a row of the study each."""
    from simulations.studies.study import Study, case_named

    clean, harsh = number // 3, number // 6
    for name in tqdm(Study(clean, harsh, number - clean - harsh, seed).names(), disable=None):
        case = case_named(name)
        folder = out / name
        folder.mkdir(parents=True, exist_ok=True)
        subprocess.run([sys.executable, "-m", "simulations", "case", name, "--trace", str(folder / "trace.csv"),
                        "--plan", str(folder / "plan.toml")], stdout=subprocess.DEVNULL, timeout=TIMEOUT_S)
        trace = folder / "trace.csv"
        (folder / "trace.csv.gz").write_bytes(gzip.compress(trace.read_bytes(), mtime=0))
        trace.unlink()
        truth = {"glass": case.glass, "thickness_mm": case.thickness_mm}
        (folder / "truth.json").write_text(json.dumps(truth) + "\n")
    return 0


def _record(out: Path, folders: list[Path]) -> int:
    """Replay every firing of the folders and keep the JSON."""
    firings = sorted(path.parent for folder in folders for path in folder.glob("*/truth.json"))
    with tempfile.TemporaryDirectory() as work, ThreadPoolExecutor(os.cpu_count()) as pool:
        judged = list(tqdm(pool.map(lambda firing: _replay(firing, Path(work)), firings), total=len(firings),
                           disable=None))
    names = [f"{firing.parent.name}/{firing.name}" for firing in firings]
    out.write_text(json.dumps(dict(zip(names, judged, strict=True))))
    return 0


def _replay(firing: Path, work: Path) -> Any:
    """Return the JSON of one firing's replay, or its error."""
    truth = json.loads((firing / "truth.json").read_text())
    trace = work / f"{firing.parent.name}-{firing.name}.csv"
    trace.write_bytes(gzip.decompress((firing / "trace.csv.gz").read_bytes()))
    lehrling = Path(sys.executable).with_name("lehrling")
    done = subprocess.run(
        [str(lehrling), "replay", str(trace), "--plan", str(firing / "plan.toml"), "--glass", str(truth["glass"]),
         "--thickness-mm", f"{truth['thickness_mm']:g}", "--json"],
        capture_output=True, text=True, timeout=TIMEOUT_S)
    trace.unlink()
    return json.loads(done.stdout) if done.stdout else {"error": done.stderr}


def _compare(before: dict[str, Any], after: dict[str, Any]) -> int:
    """Print what differs; return 1 where anything does."""
    changed = 0
    for name in sorted({*before, *after}):
        differences = list(_differences(before.get(name), after.get(name), ""))
        changed += bool(differences)
        for line in differences[:12]:
            sys.stdout.write(f"{name}  {line}\n")
    sys.stdout.write(f"{len(before)} firings before, {len(after)} after: {changed} judged differently.\n")
    return 1 if changed else 0


def _differences(before: Any, after: Any, path: str) -> Any:
    """Yield a line for each value that differs, with its path in the JSON."""
    if isinstance(before, dict) and isinstance(after, dict):
        for key in sorted({*before, *after}):
            yield from _differences(before.get(key), after.get(key), f"{path}.{key}")
    elif isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        for i, (one, other) in enumerate(zip(before, after, strict=True)):
            yield from _differences(one, other, f"{path}[{i}]")
    elif before != after:
        yield f"{path}: {before!r} -> {after!r}"


if __name__ == "__main__":
    sys.exit(main())
