"""How many rules the watcher has: ``python -m benchmarks.count_rules [COMMIT ...]``.

Counted in the places that decide what is wrong and what it is called: files, lines that hold code, named numbers,
conditions, and rules between kinds of alert (which may stand under which, and take whose name). Without a commit the
files are counted as they lie in the working tree.
"""

from __future__ import annotations

import argparse
import ast
import io
import subprocess
import sys
import tokenize
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[1]
ROOMS = tuple(f"daemon/firing/{room}" for room in (
    "watches/", "detection/", "situation/", "alerts/", "consequence.py"))
"""Folders, which end with a slash, and single files."""
_BETWEEN_KINDS = ("may_stand_under", "asked_for_by", "may_replace", "explains", "gathers")
_NO_CODE = frozenset((tokenize.COMMENT, tokenize.NL, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT,
                      tokenize.ENCODING, tokenize.ENDMARKER))


class Count(NamedTuple):
    """What was counted in one file, or in several together."""

    files: int = 0
    code_lines: int = 0
    numbers: int = 0
    conditions: int = 0
    between_kinds: int = 0

    def plus(self, other: Count) -> Count:
        """Return both together."""
        return Count(*(a + b for a, b in zip(self, other, strict=True)))


def count(source: str) -> Count:
    """Return what is in the source of one file."""
    tree = ast.parse(source)
    nodes = list(ast.walk(tree))
    return Count(1, _code_lines(source, nodes), sum(_numbers(statement) for statement in tree.body),
                 sum(map(_conditions, nodes)), sum(map(_between_kinds, nodes)))


def _code_lines(source: str, nodes: list[ast.AST]) -> int:
    """Return how many lines hold code: neither blank, nor a comment, nor a docstring."""
    docstrings = {line for node in nodes if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
                  for line in range(node.lineno, (node.end_lineno or node.lineno) + 1)}
    with_code = {line for token in tokenize.generate_tokens(io.StringIO(source).readline)
                 if token.type not in _NO_CODE for line in range(token.start[0], token.end[0] + 1)}
    return len(with_code - docstrings)


def _numbers(statement: ast.stmt) -> int:
    """Return how many numbers a module-level statement gives names in capitals; names of other constants are none."""
    if isinstance(statement, ast.Assign):
        targets, value = statement.targets, statement.value
    elif isinstance(statement, ast.AnnAssign) and statement.value is not None:
        targets, value = [statement.target], statement.value
    else:
        return 0
    names = [name for target in targets for name in (target.elts if isinstance(target, ast.Tuple) else [target])]
    if not all(isinstance(name, ast.Name) and name.id == name.id.upper() for name in names):
        return 0
    values = value.elts if isinstance(value, ast.Tuple) else [value]
    return sum(1 for one in values if _is_number(one))


def _is_number(value: ast.expr) -> bool:
    """Return whether an expression is a number, or arithmetic with one."""
    if isinstance(value, ast.UnaryOp):
        return _is_number(value.operand)
    if isinstance(value, ast.BinOp):
        return _is_number(value.left) or _is_number(value.right)
    return isinstance(value, ast.Constant) and type(value.value) in (int, float)


def _conditions(node: ast.AST) -> int:
    """Return how many conditions a node asks: each branch, and each further part of an "and" or "or"."""
    if isinstance(node, ast.BoolOp):
        return len(node.values) - 1
    if isinstance(node, ast.comprehension):
        return len(node.ifs)
    return int(isinstance(node, (ast.If, ast.IfExp, ast.While, ast.match_case)))


def _between_kinds(node: ast.AST) -> int:
    """Return how many rules between kinds of alert an argument of a kind holds: the kinds and families it names."""
    if not isinstance(node, ast.keyword) or node.arg not in _BETWEEN_KINDS:
        return 0
    return sum(1 for part in ast.walk(node.value) if _names_a_kind(part))


def _names_a_kind(part: ast.AST) -> bool:
    """Return whether an expression is the name of a kind, or a family of kinds."""
    if isinstance(part, ast.Attribute):
        return isinstance(part.value, ast.Name) and part.value.id == "Family"
    return isinstance(part, ast.Constant) and isinstance(part.value, str)


def sources(room: str, commit: str | None) -> Iterator[str]:
    """Yield the source of every module of a room, of a commit or of the working tree; none where there is none."""
    if commit is None:
        there = sorted((ROOT / room).rglob("*.py")) if room.endswith("/") else [ROOT / room]
        yield from (path.read_text(encoding="utf-8") for path in there)
        return
    for name in _git("ls-tree", "-r", "--name-only", commit, room).splitlines():
        if name.endswith(".py"):
            yield _git("show", f"{commit}:{name}")


def _git(*arguments: str) -> str:
    """Return what git says."""
    return subprocess.run(("git", *arguments), cwd=ROOT, check=True, capture_output=True, text=True).stdout


def table(commit: str | None) -> Iterator[str]:
    """Yield a table of the rooms and their sum, in Markdown."""
    yield "| room | files | lines of code | named numbers | conditions | rules between kinds |"
    yield "|---|--:|--:|--:|--:|--:|"
    whole = Count()
    for room in ROOMS:
        there = Count()
        for source in sources(room, commit):
            there = there.plus(count(source))
        whole = whole.plus(there)
        yield f"| `{room}` | {' | '.join(map(str, there))} |"
    yield f"| all | {' | '.join(map(str, whole))} |"


def main(arguments: list[str] | None = None) -> int:
    """Print a table for each commit, and one for the working tree where none is named."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("commits", metavar="COMMIT", nargs="*", help="count these instead of the working tree")
    for commit in parser.parse_args(arguments).commits or [None]:
        sys.stdout.write(f"{commit or 'working tree'}\n\n" + "\n".join(table(commit)) + "\n\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
