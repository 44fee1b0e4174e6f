"""The energy estimate against what the plants' own elements took."""

from __future__ import annotations

import pytest

from daemon.firing.energy.estimate import Basis, estimate
from daemon.firing.energy.heat_balance import HeatUse, Why
from simulations.__main__ import main
from simulations.studies import energy
from simulations.studies.energy import Burnt, burn, estimates, report, tally


@pytest.mark.parametrize(("kiln", "basis"), [
    ("first-20", Basis.FULL_POWER), ("first-4", Basis.USUAL), ("second-8", Basis.USUAL)])
def test_what_the_elements_took_lies_within_the_estimate(kiln, basis):
    burnt = [burn(f"{kiln}-{number}") for number in (1, 2)]
    reckoned = estimates(burnt)
    assert [told.basis for _, told in reckoned] == [basis] * 2
    assert tally(reckoned).share == 1.0
    assert tally(estimates(burnt, metered=True)).share == 1.0
    # Whatever its scale, the heat is right: a kelvin hour is the same energy in both firings.
    a, b = (one.used_kwh / one.found.kelvin_h for one in burnt)
    assert a == pytest.approx(b, rel=0.08)


def test_the_study_is_run_by_its_command(capsys, monkeypatch):
    use = HeatUse(1000.0, 1000.0, 1000.0)
    asked = []
    monkeypatch.setattr(energy, "burn", lambda name: asked.append(name) or Burnt(name, 5.0, 5.0, use))
    assert main(["energy", "--kilns", "2", "--seed", "7", "--plant", "second", "--jobs", "1"]) == 0
    assert asked == [f"second-{seed}-{number}" for seed in (7, 8) for number in (0, 1, 2)]
    assert "full-power: 6 firings, 100% inside" in capsys.readouterr().out


def test_the_report_counts_what_lies_outside():
    use = HeatUse(1000.0, 1000.0, 1000.0)
    told = estimate(use, [use], 5.0)
    burnt = [Burnt("a", 5.0, kwh, use) for kwh in (told.low_kwh - 0.1, 5.0, 5.1, told.high_kwh + 0.1)]
    said = report([*burnt, Burnt("b", 5.0, 1.0, Why.GAP)])
    assert "1 of 5 could not be reckoned" in said
    assert "4 firings, 50% inside, 1 below, 1 above" in said
