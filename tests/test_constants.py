"""Every named number says where it comes from, in a form that can be checked.

A module-level constant in capitals that is a number, or a tuple of numbers, has a docstring below it: its own, or
the one that closes the group of lines it stands in. The docstring ends with one of these marks:

``[source: …]``, ``[derived: …]``, ``[common practice]``, ``[from memory: …]``, ``[tuned: which study]``,
``[chosen: why]``, and ``[from: module.NAME]`` for a copy, which must be equal to what it was copied from.
"""

from __future__ import annotations

import ast
import importlib
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGES = ("simulations", "web", "hw", "daemon")
MARK = re.compile(
    r"\[(?:common practice(?:: [^\]]+)?|(?:source|derived|from memory|tuned|chosen): [^\]]{4,}"
    r"|from: (?P<copied>[\w.]+))\]")


@dataclass(frozen=True)
class Constant:
    """A named number and the docstring that is to say where it comes from; None where there is none."""

    module: str
    name: str
    line: int
    docstring: str | None


def names_of(node: ast.stmt) -> list[str]:
    """Return the names that a module-level statement assigns."""
    if isinstance(node, ast.AnnAssign):
        targets: list[ast.expr] = [node.target]
    else:
        targets = node.targets if isinstance(node, ast.Assign) else []
    flat = [t for target in targets for t in (target.elts if isinstance(target, ast.Tuple) else [target])]
    return [target.id for target in flat if isinstance(target, ast.Name)]


def is_number(value: object) -> bool:
    """Return whether a value is a number, or a tuple of numbers however nested."""
    if isinstance(value, tuple):
        return bool(value) and all(is_number(entry) for entry in value)
    return type(value) in (int, float)


def docstring_below(body: list[ast.stmt], at: int) -> str | None:
    """Return the docstring that follows statement ``at``, past lines of the same group; None where none does."""
    for before, node in zip(body[at:], body[at + 1:], strict=False):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant) and isinstance(node.value.value, str):
            return node.value.value
        if not names_of(node) or node.lineno != (before.end_lineno or 0) + 1:
            return None
    return None


def constants_of(source: str, module: str, value_of: object) -> Iterator[Constant]:
    """Yield the named numbers of a module, whose values are the attributes of ``value_of``."""
    body = ast.parse(source).body
    for at, node in enumerate(body):
        for name in names_of(node):
            if name == name.upper() and name.strip("_") and is_number(getattr(value_of, name, None)):
                yield Constant(module, name, node.lineno, docstring_below(body, at))


def constants_in(package: str) -> Iterator[Constant]:
    """Yield the named numbers of a package and of those below it."""
    yield from constants_at((ROOT / package.replace(".", "/")).rglob("*.py"))


def constants_at(paths: Iterable[Path]) -> Iterator[Constant]:
    """Yield the named numbers of files."""
    for path in sorted(paths):
        module = ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        yield from constants_of(path.read_text(encoding="utf-8"), module, importlib.import_module(module))


def complaint(constant: Constant) -> str | None:
    """Return what is wrong with what a constant says of itself; None where nothing is."""
    place = f"{constant.module}.{constant.name}, line {constant.line}"
    if constant.docstring is None:
        return f"{place}: no docstring below it"
    marks = list(MARK.finditer(constant.docstring))
    if not marks or not constant.docstring.rstrip().endswith(marks[-1][0]):
        return f"{place}: its docstring does not end with a mark"
    for mark in marks:
        if mark["copied"]:
            module, _, name = mark["copied"].rpartition(".")
            copied = getattr(importlib.import_module(module), name)
            if copied != getattr(importlib.import_module(constant.module), constant.name):
                return f"{place}: is not what {mark['copied']} is"
    return None


@pytest.mark.parametrize("package", PACKAGES)
def test_every_named_number_says_where_it_comes_from(package):
    assert [wrong for constant in constants_in(package) if (wrong := complaint(constant))] == []


def test_every_named_number_of_a_file_that_is_in_no_room_says_where_it_comes_from():
    found = constants_at((ROOT / "daemon").glob("*.py"))
    assert [wrong for constant in found if (wrong := complaint(constant))] == []


def test_named_numbers_are_found_in_their_hundreds():
    assert sum(1 for package in PACKAGES for _ in constants_in(package)) > 400


class Values:
    """Stands for a module."""

    WAIT_S = 30.0
    LOW_C, HIGH_C = 500.0, 600.0
    SPANS = ((1.0, 2.0), (3.0, 4.0))
    NAMES = ("a", "b")
    IS_ON = True


def of(source: str) -> list[tuple[str, str | None]]:
    """Return the named numbers of a source and what is wrong with each."""
    return [(c.name, complaint(c)) for c in constants_of(source, "a_module", Values)]


def test_a_docstring_of_its_own_or_of_its_group_will_do():
    assert of('WAIT_S = 30.0\n"""So long. [common practice]"""\n') == [("WAIT_S", None)]
    assert of('WAIT_S = 30.0\nLOW_C, HIGH_C = 500.0, 600.0\n"""[chosen: round figures]"""\n') == [
        ("WAIT_S", None), ("LOW_C", None), ("HIGH_C", None)]
    assert of('SPANS = ((1.0, 2.0), (3.0, 4.0))\n"""[source: a standard, table 3]"""\n') == [("SPANS", None)]


@pytest.mark.parametrize("source", [
    "WAIT_S = 30.0\n",
    "WAIT_S = 30.0  # [common practice]\n",
    'WAIT_S = 30.0\n"""So long."""\n',
    'WAIT_S = 30.0\n"""So long. [chosen: ]"""\n',
    'WAIT_S = 30.0\n"""So long. [a guess]"""\n',
    'WAIT_S = 30.0\n"""[common practice] And more."""\n',
    'WAIT_S = 30.0\n\nLOW_C, HIGH_C = 500.0, 600.0\n"""[chosen: round figures]"""\n',
    'WAIT_S: float = 30.0\nNAMES = ("a", "b")\n',
])
def test_a_number_that_does_not_say_is_found(source):
    name, wrong = of(source)[0]
    assert name == "WAIT_S"
    assert wrong is not None


def test_names_that_are_no_numbers_are_left_alone():
    assert of('NAMES = ("a", "b")\nIS_ON = True\n') == []


def test_a_copy_must_be_equal_to_what_it_copies():
    kiln = importlib.import_module("simulations.plant.kiln")
    good = Constant("simulations.plant.kiln", "STEP_S", 1, "[from: simulations.plant.kiln.STEP_S]")
    assert complaint(good) is None
    assert kiln.STEP_S != kiln.KELVIN
    bad = Constant("simulations.plant.kiln", "STEP_S", 1, "[from: simulations.plant.kiln.KELVIN]")
    assert "is not what" in (complaint(bad) or "")
