"""A firing's highest temperature: one figure while it runs and once it has ended."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize(("said", "shown"), [({"peak_c": 796.6}, "highest 797"), ({}, "highest 800")])
def test_a_running_firing_has_the_peak_that_the_daemon_will_judge_by(client, studio, said, shown):
    number = studio.fill(until_s=31_000.0)  # its highest single reading is 800.2 °C
    studio.say(number, **said)
    assert shown in client.get(f"/firings/{number}").text


def test_the_peak_of_another_firing_is_not_taken(client, studio):
    first = studio.fill(until_s=31_000.0)
    studio.say(first + 1, peak_c=650.0)
    assert "highest 800" in client.get(f"/firings/{first}").text
