"""TOML that a maker wrote, however odd, is a table or a sentence, never a traceback."""

from __future__ import annotations

import pytest

from daemon.errors import BadInput
from daemon.toml import LONGEST_LINE, finite, named, not_a_line, read_toml, shown

HUGE_HEX = int("f" * 5000, 16)  # TOML takes it, Python will not print it


@pytest.mark.parametrize("text", [
    "a = ", "= 3", "a = 1\na = 2", "\x00", "a = [" + "[" * 100_000, "a = " + "1" * 5000,
], ids=lambda text: repr(text[:12]))
def test_what_is_no_toml_is_refused_with_the_file_and_the_remedy(text):
    with pytest.raises(BadInput) as refused:
        read_toml(text, "odd.toml", "Do this.")
    assert refused.value.where == "odd.toml"
    assert refused.value.remedy == "Do this."


@pytest.mark.parametrize(("text", "told"), [
    ("channel = []\n[[channel]]\n", "line 2: channel has its value further up already, in a line channel = …."),
    ("[kiln]\n[kiln]\n", "line 2: the heading kiln stands further up already. Put all its lines below one."),
    ("a = 1\na = 2\n", "line 2: this name has a value further up already."),
    ("\nkiln name\n", "line 2: this is neither a heading, as [name], nor a setting, as name = value."),
    ("[kiln\n", "line 1: a heading is not closed."),
    ("a = 1 kg\n", "line 1: something stands behind the value. Put a text in quotes"),
    ("a = Kiln\n", "line 1: the value can't be read. Put a text in quotes"),
    ('a = "x\nb = 1\n', "line 1: the quote that ends a text is missing."),
    ('a = "x', "the last line: the quote that ends a text is missing."),
    ('a = "C:\\path"\n', "line 1: a text holds a backslash."),
    ("a = [1 2]\n", "line 1: a list lacks a comma or its ]."),
    ('a = "\x01"\n', "line 1: a character can't be seen or stand here."),
])
def test_what_is_no_toml_is_told_with_its_line_in_plain_words(text, told):
    with pytest.raises(BadInput) as refused:
        read_toml(text, "odd.toml", "Do this.")
    assert refused.value.problem.startswith(f"not readable as TOML: {told}")


@pytest.mark.parametrize("value", [True, False, "3", None, [3], float("nan"), float("inf"), 10**400, HUGE_HEX],
                         ids=lambda value: type(value).__name__)
def test_only_a_finite_number_is_a_number(value):
    assert finite(value) is None


def test_a_whole_number_becomes_a_plain_one():
    assert finite(3) == 3.0
    assert isinstance(finite(3), float)


@pytest.mark.parametrize("value", ["x" * 10_000, 10**400, HUGE_HEX, [HUGE_HEX], list(range(1000))],
                         ids=lambda value: type(value).__name__)
def test_a_long_value_is_shown_short(value):
    assert 0 < len(shown(value)) <= 60


@pytest.mark.parametrize("value", [3, None, True, "two\nlines", "a\ttab", "\x1b[31mred", "\x7f",
                                   "x" * (LONGEST_LINE + 1)],
                         ids=lambda value: repr(value)[:12])
def test_what_is_not_one_line_is_told_with_its_remedy(value):
    problem = not_a_line(value)
    assert problem
    assert problem.endswith((".", '"…".'))


@pytest.mark.parametrize("value", ["Full fuse", "790\u00a0°C, Öfchen", "x" * LONGEST_LINE, ""],
                         ids=lambda value: repr(value)[:12])
def test_one_line_is_one_line(value):
    assert not_a_line(value) is None


def test_a_key_that_cannot_be_printed_is_named_in_quotes():
    assert named("rate") == "rate"
    assert named("ra\nte") == "'ra\\nte'"
