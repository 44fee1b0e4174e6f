"""A number is read in one way, however it is typed and wherever."""

from __future__ import annotations

import pytest

from daemon.errors import BadInput
from daemon.settings.keys import read_value
from daemon.typed_number import read_number
from web.request.form import Form


@pytest.mark.parametrize(("typed", "value"), [
    ("3.6", 3.6), ("3,6", 3.6), (" 200 ", 200.0), ("-3", -3.0), ("1e3", 1000.0), (".5", 0.5), ("0,125", 0.125),
    ("1.000", 1.0), ("1000", 1000.0),
])
def test_page_and_command_read_the_same_number(typed, value):
    assert read_number(typed) == (value, "")
    assert read_value("kiln.price_per_kwh", typed) == value
    assert Form({"price": typed}).number("price", -10.0, 1e6, "") == value


@pytest.mark.parametrize(("typed", "told"), [
    ("1,000", "could be 1000 or 1. Write the one you mean."), ("abc", "is not a number."),
    ("nan", "is not a number."), ("1e999", "is not a number."), ("1_0", "is not a number."),
    ("1,2,3", "is not a number."), ("٣", "is not a number."), ("3,456", "could be 3456 or 3.456."),
])
def test_page_and_command_refuse_the_same(typed, told):
    value, wrong = read_number(typed)
    assert (value, wrong.startswith(told)) == (None, True)
    with pytest.raises(BadInput) as refused:
        read_value("kiln.price_per_kwh", typed)
    form = Form({"price": typed})
    assert form.number("price", -10.0, 1e6, "") is None
    assert told in refused.value.text
    assert told in form.wrong["price"]
