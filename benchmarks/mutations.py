"""Whether the tests would notice a small mistake: ``python -m benchmarks.mutations FILE_OR_FOLDER ...``.

Draws mutations of the given modules by a seed (an operator, a comparison, a number, a truth value or a return
changed), makes them one at a time in a copy of the tree, and runs the tests of the mutated module, quick or not:
first its own test file (``tests/a/test_b.py`` for ``a/b.py``), then, if that stays green, its room's (``tests/a``).
Prints for every mutation file, line and change, and who caught it; leaves with 1 if a share of less than
``--least`` was.

    python -m benchmarks.mutations daemon/firing/trace daemon/firing/tracking --number 40 --seed 1
    python -m benchmarks.mutations daemon/glass/slab.py --number 20 --seed 2 --own-file-only
    python -m benchmarks.mutations daemon/glass/slab.py --every

Bounded: at most ``--number`` mutations (with ``--every`` those there are), each run at most ``--bound`` seconds of
processor time. A mutation that makes the tests run longer than that counts as caught. A comparison is turned round
(``<`` becomes ``>=``); its boundary alone (``<`` to ``<=``) only with ``--boundaries``, since a measured value lies
on one with probability zero. The flags of a dataclass and of its fields (``frozen``, ``slots``, ``eq``, ``repr``,
...) are left alone: they declare how a record may be used, which mypy checks, and no result of the program follows
from them. So is ``strict`` of ``zip``, which guards against lengths that differ. An *equivalent* mutation, one that
changes nothing a caller can see, has to be told from a missed one by reading.
"""

from __future__ import annotations

import argparse
import ast
import contextlib
import os
import queue
import random
import shutil
import sys
import tempfile
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from tqdm import tqdm

from benchmarks._forked_pytest import Forks

ROOT = Path(__file__).parents[1]
MOST = 400
_NOT_COPIED = shutil.ignore_patterns(".git", ".venv", "*.egg-info", "__pycache__", ".*_cache", "ci-output")
_FIRST_MTIME_S = 1_000_000_000
"""Every mutation gets a time of change of its own, lest Python run the bytecode of the one before."""

_OPERATORS: dict[type[ast.operator], ast.operator] = {
    ast.Add: ast.Sub(), ast.Sub: ast.Add(), ast.Mult: ast.Div(), ast.Div: ast.Mult(), ast.FloorDiv: ast.Mult(),
    ast.Mod: ast.Mult(), ast.Pow: ast.Mult(),
}
_TURNED: dict[type[ast.cmpop], ast.cmpop] = {
    ast.Lt: ast.GtE(), ast.LtE: ast.Gt(), ast.Gt: ast.LtE(), ast.GtE: ast.Lt(), ast.Eq: ast.NotEq(),
    ast.NotEq: ast.Eq(), ast.Is: ast.IsNot(), ast.IsNot: ast.Is(), ast.In: ast.NotIn(), ast.NotIn: ast.In(),
}
_BOUNDARIES: dict[type[ast.cmpop], ast.cmpop] = {
    ast.Lt: ast.LtE(), ast.LtE: ast.Lt(), ast.Gt: ast.GtE(), ast.GtE: ast.Gt(),
}
_GREEN, _MISUSED, _NONE_THERE = 0, 4, 5
"""How pytest leaves."""
_EXTREMES = {"min": "max", "max": "min", "any": "all", "all": "any"}
_FLAGS = {
    "zip": {"strict"},
    "dataclass": {"init", "repr", "eq", "order", "unsafe_hash", "frozen", "match_args", "kw_only", "slots"},
    "field": {"init", "repr", "hash", "compare", "kw_only"},
}
"""What is declared in a call of these and no mutation is made of."""


@dataclass(frozen=True)
class Mutation:
    """One small mistake.

    Attributes
    ----------
    path
        The module, relative to the root of the tree.
    line
        Line of the change in the module as it stands, from 1.
    change
        What was and what becomes of it, in Python.
    source
        The whole module with the mistake in it.
    """

    path: Path
    line: int
    change: str
    source: str


class Outcome(NamedTuple):
    """What became of a mutation."""

    mutation: Mutation
    caught_by: str | None
    """The test file or folder that failed, relative to the root; None where all stayed green."""


def main(arguments: list[str] | None = None) -> int:
    """Mutate, test and print; return 1 if too few were caught."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.mutations", description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("modules", type=Path, nargs="+", help="files, or folders for all files below")
    parser.add_argument("--number", type=int, default=40, help=f"how many are drawn, at most {MOST}")
    parser.add_argument("--every", action="store_true", help="all there are, none drawn: hours for a room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2, help="how many are tested at a time, a copy of the tree each")
    parser.add_argument("--bound", type=int, default=60, help="of one test run [s of processor time]")
    parser.add_argument("--least", type=float, default=0.95, help="share to be caught")
    parser.add_argument("--own-file-only", action="store_true", help="leave the tests of the room out")
    parser.add_argument("--boundaries", action="store_true", help="mutate < to <= as well")
    args = parser.parse_args(arguments)
    every = [m for path in _files(args.modules) for m in mutations(path, (ROOT / path).read_text(encoding="utf-8"),
                                                                    boundaries=args.boundaries)]
    drawn = every if args.every else random.Random(args.seed).sample(every, min(args.number, MOST, len(every)))
    drawn.sort(key=lambda m: (str(m.path), m.line))
    say = sys.stdout.write
    say(f"{len(drawn)} of {len(every)} mutations" + f", seed {args.seed}" * (not args.every) + "\n")
    caught = 0
    for outcome in _tested(drawn, args.jobs, args.bound, own_file_only=args.own_file_only):
        caught += outcome.caught_by is not None
        verdict = f"caught by {outcome.caught_by}" if outcome.caught_by else "MISSED"
        say(f"{outcome.mutation.path}:{outcome.mutation.line}: {outcome.mutation.change}: {verdict}\n")
        sys.stdout.flush()
    share = caught / max(len(drawn), 1)
    say(f"{caught} of {len(drawn)} caught, {share:.0%}\n")
    return 0 if share >= args.least else 1


def mutations(path: Path, source: str, *, boundaries: bool = False) -> Iterator[Mutation]:
    """Yield every mutation of a module whose text is ``source``, in the order of its lines."""
    data = source.encode()
    begins = [0]
    for line in data.splitlines(keepends=True):
        begins.append(begins[-1] + len(line))
    for node in _that_run(ast.parse(source)):
        for becomes in _mutated(node, boundaries=boundaries):
            start = begins[node.lineno - 1] + node.col_offset
            end = begins[(node.end_lineno or 0) - 1] + (node.end_col_offset or 0)
            text = ast.unparse(becomes)
            written = text if isinstance(becomes, ast.stmt) else f"({text})"
            yield Mutation(path, node.lineno, f"{_short(ast.unparse(node))} → {_short(text)}",
                           (data[:start] + written.encode() + data[end:]).decode())


def _that_run(node: ast.AST) -> Iterator[ast.expr | ast.stmt]:
    """Yield the statements and expressions that decide something; no annotation, decorator, text or pattern."""
    if isinstance(node, ast.expr | ast.stmt):
        yield node
    flags = _FLAGS.get(ast.unparse(node.func).rpartition(".")[2], set()) if isinstance(node, ast.Call) else set()
    for name, value in ast.iter_fields(node):
        if name in ("annotation", "returns", "decorator_list", "pattern", "type_comment"):
            continue
        for child in value if isinstance(value, list) else [value]:
            if not isinstance(child, ast.AST) or isinstance(child, ast.JoinedStr):
                continue
            if isinstance(child, ast.keyword) and child.arg in flags:
                continue
            yield from _that_run(child)


def _mutated(node: ast.AST, *, boundaries: bool) -> Iterator[ast.expr | ast.stmt]:
    """Yield what may stand in the place of one node."""
    match node:
        case ast.BinOp(left, op, right) if type(op) in _OPERATORS:
            yield ast.BinOp(left, _OPERATORS[type(op)], right)
        case ast.AugAssign(target, op, value) if type(op) in _OPERATORS:
            yield ast.AugAssign(target, _OPERATORS[type(op)], value)
        case ast.Compare(left, ops, comparators):
            for table in (_TURNED, _BOUNDARIES) if boundaries else (_TURNED,):
                for i, op in enumerate(ops):
                    if type(op) in table:
                        yield ast.Compare(left, [*ops[:i], table[type(op)], *ops[i + 1:]], comparators)
        case ast.BoolOp(op, values):
            yield ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values)
        case ast.UnaryOp(ast.Not() | ast.USub(), operand):
            yield operand
        case ast.Constant(bool(value)):
            yield ast.Constant(not value)
        case ast.Constant(int(value) | float(value)):
            yield ast.Constant(2 * value if value else 1)
        case ast.Call(ast.Name(name), args, keywords) if name in _EXTREMES:
            yield ast.Call(ast.Name(_EXTREMES[name], ast.Load()), args, keywords)
        case ast.Return(value) if value is not None and not isinstance(value, ast.Constant):
            yield ast.Return(ast.Constant(None))
        case ast.If(test, [ast.Return() | ast.Continue() | ast.Break() | ast.Raise()], []):
            yield ast.Expr(test)  # goes on where it left before


def _short(text: str) -> str:
    flat = " ".join(text.split())
    return flat if len(flat) <= 70 else flat[:67] + "..."


def _files(paths: Iterable[Path]) -> Iterator[Path]:
    """Yield the modules of files and folders, relative to the root."""
    for path in paths:
        whole = ROOT / path
        if not whole.exists():
            raise SystemExit(f"{path}: no such file or folder in the repository. Name one, as daemon/clock.py.")
        found = sorted(whole.rglob("*.py")) if whole.is_dir() else [whole]
        yield from (file.relative_to(ROOT) for file in found if file.stem != "__init__")


def _tests_of(tree: Path, module: Path, *, own_file_only: bool) -> list[Path]:
    """Return the test file of a module and the folder of its room, those that exist in ``tree``."""
    folder = Path("tests", *module.parent.parts)
    wanted = [folder / f"test_{module.stem}.py"] + [folder] * (not own_file_only)
    return [path for path in wanted if (tree / path).exists()]


def _tested(drawn: list[Mutation], jobs: int, bound_s: int, *, own_file_only: bool) -> Iterator[Outcome]:
    """Yield what became of each mutation; the tests have to be green without any."""
    with tempfile.TemporaryDirectory() as work, contextlib.ExitStack() as ended:
        free: queue.SimpleQueue[Forks] = queue.SimpleQueue()
        for i in range(max(1, jobs)):
            tree = Path(work, str(i))
            shutil.copytree(ROOT, tree, ignore=_NOT_COPIED)
            forks = Forks(tree, bound_s)
            ended.callback(forks.close)
            free.put(forks)
        for path in sorted({path for m in drawn for path in _tests_of(tree, m.path, own_file_only=own_file_only)}):
            if _fails(forks, path):
                raise SystemExit(f"{path} fails without a mutation, or takes more than {bound_s} s. Mend it first, "
                                 "give more with --bound, or leave the room out with --own-file-only.")

        def outcome(numbered: tuple[int, Mutation]) -> Outcome:
            forks = free.get()
            try:
                return _outcome(forks, *numbered, own_file_only=own_file_only)
            finally:
                free.put(forks)

        with ThreadPoolExecutor(jobs) as pool:
            yield from tqdm(pool.map(outcome, enumerate(drawn)), total=len(drawn), disable=None)


def _outcome(forks: Forks, number: int, mutation: Mutation, *, own_file_only: bool) -> Outcome:
    """Write the mutation, run its own test file, then the others of its room, and write back what was."""
    file = forks.tree / mutation.path
    was = file.read_text(encoding="utf-8")
    try:
        file.write_text(mutation.source, encoding="utf-8")
        os.utime(file, (_FIRST_MTIME_S + number, _FIRST_MTIME_S + number))
        green: Path | None = None
        for tests in _tests_of(forks.tree, mutation.path, own_file_only=own_file_only):
            if _fails(forks, tests, but=green):
                return Outcome(mutation, str(tests))
            green = tests
        return Outcome(mutation, None)
    finally:
        file.write_text(was, encoding="utf-8")


def _fails(forks: Forks, tests: Path, *, but: Path | None = None) -> bool:
    """Return whether the tests of a file or folder fail, the file ``but`` left out; too long counts as failing."""
    left_out = [f"--ignore={but}"] if but else []
    code, told = forks.run("-x", "-q", "-p", "no:cacheprovider", str(tests), *left_out)
    if code == _MISUSED:
        raise SystemExit(f"pytest {tests} cannot be run:\n{told[-2000:]}")
    return code not in (_GREEN, _NONE_THERE)  # red, not collected, or out of time


if __name__ == "__main__":
    sys.exit(main())
