"""A plan is of an empty kiln where its name says so in so many words."""

import pytest

from daemon.firing.plan.empty_kiln import says_empty


@pytest.mark.parametrize("title", ["Shelf primer, empty kiln", "Kiln empty: burn-in", "New shelves, no glass",
                                   "Moulds without glass"])
def test_the_name_says_so(title):
    assert says_empty(title)


@pytest.mark.parametrize("title", ["Full fuse, 6 mm", "Empty nest, slump", "Emptying the scrap box", "Glass, no haze",
                                   "Empty kilnformed shell", ""])
def test_an_empty_thing_of_glass_is_glass(title):
    assert not says_empty(title)
