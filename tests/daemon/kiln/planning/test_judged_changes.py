"""Changed plans are judged as the plan as it is written is."""

from daemon.firing.plan.plan import Plan, Step
from daemon.firing.setup import Setup
from daemon.firing.units import Units
from daemon.glass.advice import heating_limit
from daemon.glass.materials import FAMILIES
from daemon.kiln.planning.judged_changes import change_lines
from daemon.kiln.planning.what_if import Changes, Kiln, columns
from tests.daemon.kiln.conftest import TRUE

FUSE = Plan("Fuse, invented", "C", (
    Step(220, 620), Step(50, 670, 1800, "squeeze"), Step(250, 800, 600, "top"), Step(None, 516, 3600, "anneal"),
    Step(80, 461), Step(150, 406), Step(None, 40)))
SETUP = Setup(FUSE, FAMILIES["90"], 6.0)


def said(asked, model=TRUE, setup=SETUP):
    found = columns(FUSE, setup, Kiln(model, 20.0, 20.0), asked)
    return list(change_lines(found, setup, model, Units("C")))


def test_a_change_that_the_kiln_follows_and_the_glass_bears_needs_no_word():
    assert said(Changes(longer_s=[600.0], hotter_k=[10.0])) == []


def test_where_the_kiln_can_not_follow_a_change_that_is_said_under_its_name():
    (slow,) = said(Changes(hotter_k=[100.0]), TRUE._replace(power_k_per_s=0.26))
    assert slow.startswith("100 °C hotter. Step 3: this kiln can't follow from 8")


def test_a_target_that_a_change_only_just_reaches_is_said():
    reaches = said(Changes(hotter_k=[150.0]), TRUE._replace(power_k_per_s=0.175))
    assert "150 °C hotter. This kiln reaches 950 °C of step 3 only just, or not at all." in reaches


def test_what_is_doubtful_in_a_change_and_not_in_the_plan_as_written_is_said():
    (doubt,) = said(Changes(hotter_k=[200.0]), TRUE._replace(power_k_per_s=2.0))
    assert doubt.startswith("200 °C hotter, doubtful: step 3 goes to 1000 °C.")
    thick = Setup(FUSE, FAMILIES["90"], 25.0)  # the plan as written is doubtful in the same way
    assert said(Changes(longer_s=[600.0]), setup=thick) == []


def test_with_the_anneal_of_a_thicker_glass_its_climbs_are_judged_as_well():
    (doubt,) = said(Changes(anneal_mm=[38.0]))
    bears = round(heating_limit(FAMILIES["90"], 38.0, 1, loose=True)[0])
    assert doubt.startswith("anneal 38 mm, doubtful if the glass is 38 mm thick: step 1 climbs 220 °C/h below 540 °C")
    assert f"bears about {bears} °C/h" in doubt
    assert said(Changes(anneal_mm=[6.0])) == []


def test_the_anneal_of_a_thinner_glass_is_doubted_by_the_slab():
    thick = Setup(FUSE, FAMILIES["90"], 12.0)
    short = "anneal 3 mm, doubtful: step 4 holds 30 min; for 12 mm about 120 min are advised (common practice)."
    assert short in said(Changes(anneal_mm=[3.0]), setup=thick)


def test_of_an_empty_kiln_only_the_kiln_is_spoken_of():
    empty = Setup(FUSE, FAMILIES["90"], 6.0, is_empty=True)
    assert all("doubtful" not in line for line in said(Changes(hotter_k=[200.0]), setup=empty))
