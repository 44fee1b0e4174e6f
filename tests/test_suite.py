"""What the suite promises of itself: the same examples each time, and a quick part without browser and scenarios."""

import ast
from pathlib import Path
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st


def drawn() -> list[float]:
    """Return what hypothesis draws for one property."""
    seen: list[float] = []

    @given(st.floats(0.0, 1.0))
    def take(value: float) -> None:
        seen.append(value)

    take()
    return seen


def test_hypothesis_draws_the_same_examples_each_time():
    assert drawn() == drawn()
    assert len(set(drawn())) > 20


def test_this_test_is_quick(request):
    assert request.node.get_closest_marker("quick")


def test_a_whole_firing_is_not_quick(request, fired):
    assert not request.node.get_closest_marker("quick")


def not_quick() -> tuple[str, ...]:
    """Return the names in tests/conftest.py, which a test cannot import."""
    source = (Path(__file__).parent / "conftest.py").read_text(encoding="utf-8")
    (value,) = [node.value for node in ast.parse(source).body
                if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "NOT_QUICK"]
    return ast.literal_eval(value)


@pytest.mark.parametrize("name", not_quick())
def test_what_is_named_as_not_quick_is_there(name):
    assert (Path(__file__).parent / name).exists()


@pytest.mark.parametrize(("asked", "name", "is_left_out"), [
    ("quick", "scenarios/test_faults.py", True), ("quick", "daemon/firing/trace/test_outliers.py", None),
    ("quick", "scenarios", None), ("quick", "browser/conftest.py", None), ("", "scenarios/test_faults.py", None),
    ("quick or browser", "browser/test_night.py", None)])
def test_only_where_the_quick_ones_alone_are_asked_for_the_others_are_not_read(request, asked, name, is_left_out):
    here = Path(__file__).parent
    ours = request.config.pluginmanager.getplugin(str(here / "conftest.py"))
    config = SimpleNamespace(getoption={"markexpr": asked}.__getitem__)
    assert ours.pytest_ignore_collect(here / name, config) is is_left_out


def test_what_is_made_once_for_all_tests_is_not_made_again(made_once):
    made = []
    for _ in range(2):
        assert made_once("the suite's own", lambda: made.append("here") or [2, 3, 5]) == [2, 3, 5]
    assert made == ["here"]


def test_what_could_not_be_made_once_is_tried_again(made_once):
    with pytest.raises(ZeroDivisionError):
        made_once("the suite's own, in vain", lambda: 1 / 0)
    assert made_once("the suite's own, in vain", lambda: 7) == 7
