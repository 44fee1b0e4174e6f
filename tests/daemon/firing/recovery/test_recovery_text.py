"""What the words say of a firing that broke off."""

from __future__ import annotations

import pytest

from daemon.firing.events import Line
from daemon.firing.recovery.recovery import Mending, Place
from daemon.firing.recovery.recovery_text import broke_off


@pytest.mark.parametrize("place", [Place.ANNEAL, Place.COOLING])
@pytest.mark.parametrize(("rate_c_per_h", "is_said"), [(150.0, True), (None, False)])
def test_reheat_slowly_is_said_only_beside_a_line_that_has_a_rate(place, rate_c_per_h, is_said):
    mending = Mending(place, (Line(rate_c_per_h, 516.0, 3600.0),), 4, 516.0)
    assert ("Reheat slowly" in broke_off(mending, lambda temp_c: f"{temp_c:g} °C")) is is_said
