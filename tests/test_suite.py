"""What the suite promises of itself: the same examples each time, and a quick part without browser and scenarios."""

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
