"""A whole firing whose reading freezes in the anneal hold, where a reading that stands still is what is asked for."""

from __future__ import annotations

import pytest

from daemon.firing.events import Rank
from daemon.firing.verdict.answer import Question, Result
from simulations.plant.placement import Placement
from simulations.plant.surroundings import Surroundings


@pytest.fixture(scope="module", params=[(1.0, 1.3), (0.25, 0.5)], ids=["whole degrees", "quarter degrees"])
def frozen(request, fired):
    """Return a firing read in coarse steps, with noise [K] of about two thirds of one, frozen ten minutes into its
    hour of anneal.
    """
    step_k, noise_k = request.param
    around = Surroundings(probe=Placement(step_k=step_k))
    return fired("full-fuse", "frozen@step4:hold+10min", seed=11, noise_k=noise_k, around=around)


def test_it_wakes_before_the_hold_is_over(frozen):
    fault = frozen.truth.faults[0]
    (told,) = [alert for alert in frozen.report.alerts if alert.kind == "reading-frozen"]
    assert told.rank is Rank.WAKE
    assert 180.0 <= told.woke_s - fault.at_s < 20 * 60.0


def test_the_hold_is_not_praised_for_what_nobody_saw(frozen):
    answer = next(answer for answer in frozen.report.verdict if answer.kind is Question.ANNEAL_HOLD)
    assert answer.result is not Result.YES
    assert answer.measured.held_s < 15 * 60.0


@pytest.mark.parametrize("noise_k", [0.2, 1.3])
def test_a_hold_that_is_only_quiet_is_not_frozen(fired, noise_k):
    around = Surroundings(probe=Placement(step_k=1.0))
    night = fired("full-fuse", seed=12, noise_k=noise_k, around=around)
    assert "reading-frozen" not in {alert.kind for alert in night.report.alerts}
