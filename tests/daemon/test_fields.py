"""The one reader of settings and requests: values of the right kind and size, and every problem told at once."""

from __future__ import annotations

import pytest

from daemon.errors import BadInput
from daemon.fields import Fields

GIVEN = {"name": "Bowl", "plan": "a\nb", "count": 3, "share": 0.5, "on": True, "unit": "F", "hertz": 60,
         "names": ["a", "b"], "page": {"port": 80}}


def test_each_kind_is_taken_and_what_is_left_out_is_the_default():
    fields = Fields(GIVEN)
    assert (fields.text("name", "x"), fields.text("plan", "", lines=True)) == ("Bowl", "a\nb")
    assert (fields.whole("count", 1, 1, 3), fields.number("share", 0.0, 0.5, 1.0)) == (3, 0.5)
    assert fields.flag("on", False) is True
    assert (fields.choice("unit", "C", ("C", "F")), fields.choice("hertz", 50, (50, 60))) == ("F", 60)
    assert fields.texts("names") == ("a", "b")
    page = fields.table("page")
    assert page.number("port", 1.0, 0.0, 100.0) == 80.0
    assert (fields.text("a", "x"), fields.whole("b", None, 1, 3)) == ("x", None)
    assert (fields.number("c", 0.5, 0.0, 1.0), fields.flag("d", True)) == (0.5, True)
    assert (fields.choice("e", None, ("C",)), fields.texts("f", ("z",))) == (None, ("z",))
    page.finish()
    fields.finish()


@pytest.mark.parametrize(("ask", "told"), [
    (lambda f: f.text("count", "x"), 'count: 3 is not text. Put it in quotes: "…".'),
    (lambda f: f.text("plan", "x"), "plan: 'a\\nb' is more than one line of text. Write it in one line."),
    (lambda f: f.text("count", "x", lines=True), 'count: 3 is not text. Put it in quotes: "…".'),
    (lambda f: f.whole("count", 1, 4, 9, "5 is usual."), "count: 3 is outside 4 to 9. 5 is usual."),
    (lambda f: f.whole("count", 1, 0, 2), "count: 3 is outside 0 to 2."),
    (lambda f: f.whole("share", 1, 0, 2), "share: 0.5 is not a whole number."),
    (lambda f: f.whole("on", 1, 0, 2), "on: True is not a whole number."),
    (lambda f: f.number("share", 1.0, 0.6, 2.0, "mm"), "share: 0.5 is outside 0.6 to 2 mm."),
    (lambda f: f.number("share", 1.0, 0.0, 0.4), "share: 0.5 is outside 0 to 0.4."),
    (lambda f: f.number("on", 1.0, 0.0, 2.0, "mm"), "on: True is not a number. Write a number from 0 to 2 mm."),
    (lambda f: f.flag("count", False), "count: 3 is not true or false. Write count = true."),
    (lambda f: f.choice("unit", "C", ("C", "K")), "unit: 'F' is unknown. Known: C, K."),
    (lambda f: f.choice("on", 1, (1, 2)), "on: True is unknown. Known: 1, 2."),
    (lambda f: f.texts("name"), "name: 'Bowl' is not a list. Write [\"…\", \"…\"]."),
    (lambda f: f.table("name"), "name: 'Bowl' is not a table. Write [name] and its lines below."),
])
def test_a_value_that_cannot_be_used_is_named_with_its_remedy_and_the_default_is_taken(ask, told):
    fields = Fields(GIVEN)
    asked = ask(fields)
    assert [str(problem) for problem in fields.problems] == [told]
    assert asked in ("x", 1, 1.0, False, "C", ()) or isinstance(asked, Fields)


def test_all_problems_are_told_at_once_those_of_inner_tables_and_unknown_keys_too():
    fields = Fields({"count": "three", "page": {"port": "x"}, "extra": 1}, "[kiln] ")
    fields.whole("count", 1, 1, 3)
    fields.table("page").whole("port", 1, 1, 3)
    with pytest.raises(BadInput) as refused:
        fields.finish()
    assert refused.value.text == (
        "[kiln]: these settings can't be used:\n  [kiln] count: 'three' is not a whole number.\n"
        "  [page] port: 'x' is not a whole number.\n  [kiln] extra: unknown key. Known here: count, page.")


def test_a_single_problem_is_told_by_itself():
    with pytest.raises(BadInput) as refused:
        Fields({"extra": 1}, "[kiln] ").finish()
    assert (refused.value.where, refused.value.remedy) == ("[kiln] extra", "Known here: .")
