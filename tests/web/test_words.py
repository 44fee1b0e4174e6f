"""Figures are said plainly, in the owner's unit."""

from __future__ import annotations

import pytest

from web import words


@pytest.mark.parametrize(("rate", "unit", "said"), [
    (54.4, "C", "climbing 54 °C/h"), (-54.4, "C", "falling 54 °C/h"), (100, "F", "climbing 180 °F/h"),
    (3.0, "C", "steady"), (-3.9, "C", "steady"), (None, "C", ""),
])
def test_what_the_temperature_does(rate, unit, said):
    assert words.movement(rate, unit) == said


def test_no_temperature_is_never_a_zero():
    assert words.temp(None, "C") == "–"
    assert words.temp(0.0, "F") == "32"
    assert words.temp(-0.4, "C") == "0"


def test_a_figure_is_not_parted_from_its_unit():
    assert words.bound("112 °C/h, planned 55, for 30 min") == "112\u00a0°C/h, planned 55, for 30\u00a0min"
    assert words.bound("no 5 holds here") == "no 5 holds here"


def test_the_page_has_one_kind_of_apostrophe():
    import ast
    import re
    from pathlib import Path

    import web

    home = Path(web.__file__).parent
    other = re.compile(r"[A-Za-z]'[a-z]|[´‘]")
    found = []
    for file in home.rglob("*.py"):
        tree = ast.parse(file.read_text(encoding="utf-8"))
        remarks = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        found += [(file.name, node.value) for node in ast.walk(tree) if isinstance(node, ast.Constant)
                  and isinstance(node.value, str) and id(node) not in remarks and other.search(node.value)
                  and node.value != "‘"]  # the plan's notation, which reads it as a mark
    for file in (*home.glob("templates/*.html"), *home.glob("static/*.js")):
        for line in file.read_text(encoding="utf-8").splitlines():
            told = re.sub(r"\{[{%#].*?[#%}]\}|//.*", "", line)
            found += [(file.name, told)] if other.search(told) else []
    assert found == []


@pytest.mark.parametrize(("text", "said"), [
    ("'Mars' is no time zone. Write \"Europe/Vienna\".", "“Mars” is no time zone. Write “Europe/Vienna”."),
    ("the owner's, can't be used", "the owner's, can't be used"),
])
def test_quotes_of_the_command_line_are_the_pages_and_apostrophes_stay(text, said):
    assert words.quoted(text) == said


def test_hours_and_their_minutes_stay_on_one_line():
    assert words.bound("No temperature for 1 h 37 min.") == "No temperature for 1\u00a0h\u00a037\u00a0min."
    assert words.bound("In 3 h 2 plates") == "In 3\u00a0h 2 plates"
