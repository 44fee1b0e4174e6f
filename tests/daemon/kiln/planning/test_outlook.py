"""What a forecast comes to, against what can be reckoned by hand."""

import pytest

from daemon.firing.energy.heat_balance import HeatUse
from daemon.firing.energy.thermal import Heat, Thermal, losing_k_per_s
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.firing.setup import Setup
from daemon.firing.units import Units
from daemon.glass.materials import FAMILIES
from daemon.glass.relaxation import minutes_to_relax
from daemon.kiln.foresight import foresee
from daemon.kiln.kiln_model import Difference, KilnModel, PartKind
from daemon.kiln.past_firing import PastFiring, Ran
from daemon.kiln.planning.beside import Row, Tariff, glass_rows
from daemon.kiln.planning.energy_ahead import PastEnergy, energy_of, read_over_foreseen
from daemon.kiln.planning.outlook import as_planned, outlook
from daemon.kiln.planning.what_if import Column
from daemon.kiln.told import Clock

GLASS = FAMILIES["90"]
KILN = KilnModel(Thermal(1 / 2600, 1 / 7000, 1 / 12_000, 1 / 25_000), 0.4, True, 0.0, 0.0, {}, 4)
RATED = Plan("Rates only, invented", "C", (
    Step(200, 700), Step(240, 800, 600, "top"), Step(300, 516, 3600, "anneal"), Step(60, 420), Step(120, 30)))


def by_hand(plan=RATED):
    planned = planned_parts(plan)
    return outlook(Setup(plan, GLASS, 6.0, 1), planned, as_planned(planned, 0.0))


def test_times_near_the_top_and_in_the_haze_range_are_those_of_straight_lines():
    found = by_hand()
    assert found.peak_c == 800
    assert found.near_top_s == pytest.approx(20 / 240 * 3600 + 600 + 20 / 300 * 3600)
    assert found.above_haze_s == pytest.approx(40 / 240 * 3600 + 600 + 40 / 300 * 3600)
    assert found.haze_s == pytest.approx(60 / 240 * 3600 + 60 / 300 * 3600)


def test_the_moments_are_those_of_straight_lines():
    found = by_hand()
    begins_s = (680 / 200 + 100 / 240 + 284 / 300) * 3600 + 600
    assert found.anneal_begins.t_s == pytest.approx(begins_s)
    assert found.anneal_ends.t_s == pytest.approx(begins_s + 3600 + (516 - GLASS.band_low_c) / 60 * 3600, abs=1)
    assert found.opens.t_s == pytest.approx(begins_s + 3600 + 96 / 60 * 3600 + 380 / 120 * 3600, abs=61)


def test_the_difference_is_that_of_a_steady_fall():
    # R L²/2κ for one cooled face (Carslaw & Jaeger, a slab whose surface falls steadily; from memory).
    rate, thick_m = 60 / 3600, 6.0e-3
    assert by_hand().slabs[0].difference_k == pytest.approx(
        rate * thick_m**2 / (2 * GLASS.diffusivity_m2_s), rel=0.05)


def test_a_hold_at_the_annealing_point_is_worth_its_own_minutes():
    hold_c = GLASS.annealing_point_c
    short, long = (by_hand(Plan("a", "C", (Step(200, 800, 600), Step(300, hold_c, hold_s, "anneal"), Step(60, 400))))
                   for hold_s in (1800.0, 5400.0))
    assert long.worth_min - short.worth_min == pytest.approx(60.0, abs=0.1)
    assert short.worth_min > minutes_to_relax(GLASS, hold_c)


def test_without_an_anneal_or_without_a_cooling_nothing_is_said_of_them():
    hot = by_hand(Plan("a", "C", (Step(200, 800, 600), Step(300, 600))))
    assert (hot.anneal_begins, hot.anneal_ends, hot.opens, hot.worth_min, hot.slabs) == (None, None, None, None, ())
    assert hot.energy is None


def test_where_nothing_anneals_no_difference_is_told():
    plan = Plan("a", "C", (Step(200, 800, 600), Step(300, 40)))
    (slab,) = by_hand(plan).slabs
    assert slab.difference_k is None
    assert slab.high_mpa > 1.0
    planned = planned_parts(plan)
    one = Column("a", plan, planned, as_planned(planned, 0.0), by_hand(plan), Clock())
    assert Row("6 mm: difference while annealing", ("no anneal",)) in glass_rows([one], GLASS, Units("C"), Tariff())


def test_margins_go_over_from_part_to_part():
    usual = {PartKind.FALL: Difference(0.0, 0.0, 300.0), PartKind.LAST_FALL: Difference(0.0, 0.0, 3000.0)}
    planned = planned_parts(RATED)
    found = foresee(planned, KILN._replace(differences=usual), 20.0)
    ends = outlook(Setup(RATED, GLASS, 6.0, 1), planned, found).anneal_ends
    hold, fall = found.parts[4], found.parts[5]
    assert hold.end_s < ends.t_s < fall.end_s
    assert hold.end_margin_s <= ends.margin_s <= fall.end_margin_s < 1500.0


def two_body_kwh(plan, power_kw):
    """Return the energy by the equations themselves: what the elements gave along the curve [kWh]."""
    planned, given_k = planned_parts(plan), 0.0
    found = foresee(planned, KILN, 20.0)
    ends_s = found.parts[-2].end_s
    heat, (t_s, _) = Heat(20.0, 20.0), found.curve[0]
    for next_s, next_c in found.curve[1:]:
        step_s = next_s - t_s
        if step_s > 0 and next_s <= ends_s:
            mean_c = (heat.chamber_c + next_c) / 2
            loses_k_per_s = losing_k_per_s(KILN.thermal, Heat(mean_c, heat.walls_c), 20.0)
            given = (next_c - heat.chamber_c) / step_s + loses_k_per_s
            given_k += max(0.0, given) * step_s
            gains, loses = KILN.thermal.store_gains_per_s, KILN.thermal.store_loses_per_s
            heat = Heat(next_c, heat.walls_c + step_s * (gains * (mean_c - heat.walls_c)
                                                         - loses * (heat.walls_c - 20.0)))
            t_s = next_s
    return power_kw * given_k / KILN.power_k_per_s / 3600


FREE = Plan("All power once, invented", "C", (
    Step(None, 600), Step(200, 800, 1800, "top"), Step(None, 516, 3600, "anneal"), Step(60, 420), Step(None, 30)))


def test_the_energy_is_what_the_elements_gave():
    """By the balance of the two bodies. The reckoning's wall fills layer by layer; of one body it finds less."""
    planned = planned_parts(FREE)
    told = energy_of(planned, foresee(planned, KILN, 20.0), PastEnergy(4.0))
    assert told.likely_kwh == pytest.approx(two_body_kwh(FREE, 4.0), rel=0.2)


def test_past_firings_show_how_the_reckoning_of_a_read_curve_differs():
    planned = planned_parts(FREE)
    found = foresee(planned, KILN, 20.0)
    ran = [Ran(part.part, part.start_s, part.end_s) for part in found.parts]
    same = PastFiring(planned, ran, found.curve)
    assert read_over_foreseen([same], KILN) == pytest.approx(1.0, abs=0.01)
    stronger = foresee(planned, KILN._replace(thermal=Thermal(1 / 1700, 1 / 7000, 1 / 12_000, 1 / 25_000)), 20.0)
    other = PastFiring(planned, [Ran(part.part, part.start_s, part.end_s) for part in stronger.parts], stronger.curve)
    times = read_over_foreseen([same, other, other], KILN)
    assert times != pytest.approx(1.0, abs=0.03)
    use = HeatUse(1000.0, 900.0, None)
    plain, scaled = (energy_of(planned, found, PastEnergy(4.0, [use], [(use, 3.0)], by)) for by in (1.0, times))
    assert scaled.likely_kwh == pytest.approx(times * plain.likely_kwh)
    assert read_over_foreseen([], KILN) == 1.0


def test_a_longer_hold_adds_its_steady_loss():
    """Once the walls are warm, holding takes K·θ: chamber and walls in balance, dW/dt = 0 (in closed form)."""
    thermal, hours = KILN.thermal, 10.0
    plans = [Plan("a", "C", (Step(None, 600), Step(200, 800, hold_s, "top"), *FREE.steps[2:]))
             for hold_s in (30 * 3600.0, (30 + hours) * 3600.0)]
    short, long = (energy_of(planned_parts(plan), foresee(planned_parts(plan), KILN, 20.0), PastEnergy(4.0))
                   for plan in plans)
    passes = thermal.store_gains_per_s / (thermal.store_gains_per_s + thermal.store_loses_per_s)
    loses_k_per_s = 780 * (thermal.chamber_loses_per_s + thermal.exchange_per_s * (1 - passes))
    assert long.likely_kwh - short.likely_kwh == pytest.approx(4.0 * hours * loses_k_per_s / 0.4, rel=0.12)


def test_a_meter_of_earlier_firings_goes_before_the_rated_power():
    planned = planned_parts(FREE)
    found = foresee(planned, KILN, 20.0)
    plain = energy_of(planned, found, PastEnergy(4.0))
    use = HeatUse(1000.0, 900.0, None)
    metered = energy_of(planned, found, PastEnergy(4.0, [use], [(use, 3.0)]))
    assert metered.high_kwh - metered.low_kwh < plain.high_kwh - plain.low_kwh
