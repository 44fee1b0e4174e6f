import ast
import subprocess

import pytest

from benchmarks.count_rules import ROOMS, ROOT, Count, count, sources


@pytest.mark.parametrize(("source", "numbers"), [
    ("A_S = 3.0\n", 1),
    ("_A_K, _B_S = 3.0, 60 * 2\n", 2),
    ("A_K = -3.0\n", 1),
    ("A: float = 3\n", 1),
    ("A_S = (1.0, 2.0, 3.0)\n", 3),
    ("A_S = B_S\n", 0),
    ("A_S = B_S + 60.0\n", 1),
    ("small = 3.0\n", 0),
    ("A = 'word'\n", 0),
    ("A = True\n", 0),
    ("def f():\n    A_S = 3.0\n", 0),
])
def test_a_named_number_is_one_that_a_module_gives_a_name_in_capitals(source, numbers):
    assert count(source).numbers == numbers


@pytest.mark.parametrize(("source", "conditions"), [
    ("if a:\n    b\nelif c:\n    d\nelse:\n    e\n", 2),
    ("a = b if c else d\n", 1),
    ("a = b and c and not d\n", 2),
    ("a = [b for b in c if d if e]\n", 2),
    ("while a:\n    b\n", 1),
    ("match a:\n    case 1:\n        b\n    case _:\n        c\n", 2),
    ("for a in b:\n    c(a)\n", 0),
])
def test_a_condition_is_a_branch_or_a_further_part_of_one(source, conditions):
    assert count(source).conditions == conditions


def test_code_is_neither_blank_nor_a_comment_nor_a_docstring():
    assert count('"""Two\nlines."""\n\n# a comment\nA = 3\n"""Says what A is."""\n\n\ndef f():\n    """One."""\n'
                 '    return (A +\n            1)\n').code_lines == 4  # A, def, and the two lines of the return


@pytest.mark.parametrize(("arguments", "rules"), [
    ('may_stand_under=("b", "c"), explained_by=(X,)', 2),
    ('may_replace=(Vaguer("d", 480.0, is_uncaused=True), Vaguer(Family.PLAN, below=Rank.WAKE))', 2),
    ('may_replace=tuple(Vaguer(name) for name in ("e", "f", "g"))', 3),
    ("explains=(Family.BLIND,)", 1),
    ('asked_for_by=("over-temperature",)', 1),
    ('gathers=("sensor-fault",)', 1),
    ("may_replace_now=_explains", 0),
])
def test_rules_between_kinds_are_the_names_a_kind_gives_of_others(arguments, rules):
    assert count(f'KIND = Kind(name="a", {arguments})\n').between_kinds == rules


def test_counts_of_files_add_up():
    assert Count(1, 2, 3, 4, 5).plus(Count(1, 1, 1, 1, 1)) == Count(2, 3, 4, 5, 6)


def test_every_module_of_the_rooms_is_counted():
    of_the_tree = [source for room in ROOMS for source in sources(room, None)]
    on_disk = [path for room in ROOMS for path in ((ROOT / room).rglob("*.py") if room.endswith("/")
                                                   else [ROOT / room])]
    assert len(of_the_tree) == len(on_disk) > 40
    assert all(isinstance(ast.parse(source), ast.Module) for source in of_the_tree)


def test_a_commit_is_counted_with_the_folders_in_its_rooms(tmp_path, monkeypatch):
    for name in ("one.py", "steps/two.py", "notes.txt"):
        path = tmp_path / "daemon/firing/watches" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("A = 1\n", encoding="utf-8")
    who = ("-c", "user.name=x", "-c", "user.email=x@x")
    for arguments in (("init", "-q"), ("add", "."), (*who, "commit", "-qm", "x")):
        subprocess.run(("git", *arguments), cwd=tmp_path, check=True)
    monkeypatch.setattr("benchmarks.count_rules.ROOT", tmp_path)
    assert len(list(sources("daemon/firing/watches/", "HEAD"))) == 2
