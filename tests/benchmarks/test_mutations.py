from pathlib import Path

import pytest

from benchmarks.mutations import mutations

HERE = Path("daemon/clock.py")


def sources(source, **how):
    return [m.source for m in mutations(HERE, source, **how)]


@pytest.mark.parametrize(("source", "mutated"), [
    ("a = b + c\n", ["a = (b - c)\n"]),
    ("a /= b\n", ["a *= b\n"]),
    ("a = b < c\n", ["a = (b >= c)\n"]),
    ("a = b is None\n", ["a = (b is not None)\n"]),
    ("a = b and c\n", ["a = (b or c)\n"]),
    ("a = not b\n", ["a = (b)\n"]),
    ("a = True\n", ["a = (False)\n"]),
    ("a = 3.5\n", ["a = (7.0)\n"]),
    ("a = 0\n", ["a = (1)\n"]),
    ("a = max(b)\n", ["a = (min(b))\n"]),
    ("def f(x):\n    return x\n", ["def f(x):\n    return None\n"]),
    ("for a in b:\n    if a: continue\n    c(a)\n", ["for a in b:\n    a\n    c(a)\n"]),
])
def test_each_kind_of_mistake_is_made(source, mutated):
    assert sources(source) == mutated


def test_each_comparison_of_a_chain_is_turned_by_itself():
    assert sources("a = b < c <= d\n") == ["a = (b >= c <= d)\n", "a = (b < c > d)\n"]


def test_a_boundary_is_moved_where_asked_for():
    assert sources("a = b < c\n", boundaries=True) == ["a = (b >= c)\n", "a = (b <= c)\n"]


@pytest.mark.parametrize("source", [
    '"""Twice 2 is 4."""\n',
    "a: tuple[int, 3]\n",
    "def f(a: 'b < c') -> 'd + e': pass\n",
    "@dataclass(frozen=True, kw_only=True)\nclass A: pass\n",
    "a = dataclasses.dataclass(frozen=True, eq=False)(b)\n",
    "class A:\n    a: float = field(kw_only=True, repr=False)\n",
    "zip(a, b, strict=True)\n",
    "a = f'{b:.1f}'\n",
    "return_nothing = None\n",
])
def test_what_decides_nothing_is_left_alone(source):
    assert sources(source) == []


def test_the_same_words_are_arguments_like_any_other_elsewhere():
    assert sources("a = field(default=True)\n") == ["a = field(default=(False))\n"]
    assert sources("a = b(frozen=True)\n") == ["a = b(frozen=(False))\n"]


def test_a_mutation_says_where_it_is_and_what_was_there():
    (found,) = mutations(HERE, "# °C\na = (\n    'é' * b\n)\n")
    assert (found.path, found.line, found.change) == (HERE, 3, "'é' * b → 'é' / b")
    assert found.source == "# °C\na = (\n    ('é' / b)\n)\n"


def test_every_mutation_of_a_whole_module_is_python_and_differs():
    source = (Path(__file__).parents[2] / HERE).read_text(encoding="utf-8")
    made = sources(source)
    assert len(made) > 20
    assert source not in made
    for text in made:
        compile(text, str(HERE), "exec")
