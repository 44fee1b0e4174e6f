"""A kiln of two bodies that fires by the equations themselves."""

from random import Random

from daemon.firing.energy.thermal import Thermal
from daemon.firing.plan.plan import Plan, Step
from daemon.firing.plan.schedule import planned_parts
from daemon.kiln.foresight import foresee
from daemon.kiln.kiln_model import KilnModel
from daemon.kiln.past_firing import PastFiring, Ran

TRUE = KilnModel(Thermal(1 / 2600, 1 / 7000, 1 / 12_000, 1 / 25_000), 0.30, True, 0.0, 120.0, {}, 0)
FUSE = Plan("Fuse, invented", "C", (
    Step(220, 670, 1800), Step(250, 800, 600), Step(None, 516, 3600), Step(80, 460), Step(None, 40)))
SLUMP = Plan("Slump, invented", "C", (Step(150, 650, 900), Step(None, 510, 2700), Step(70, 440), Step(None, 40)))
THICK = Plan("Thick, invented", "C", (
    Step(100, 540, 0), Step(200, 790, 1200), Step(None, 510, 9000), Step(25, 450), Step(50, 370), Step(None, 40)))


def fired(plan, true=TRUE, seed=1, noise_k=0.3, room_c=19.0):
    """Return a firing of ``plan`` by a kiln that is known, with a noisy trace of one reading a minute."""
    rng = Random(seed)
    planned = planned_parts(plan)
    ran = foresee(planned, true, room_c, room_c=room_c)
    times = [60.0 * i for i in range(int(ran.curve[-1][0] // 60))]
    trace, at = [], 0
    for t_s in times:
        while at + 1 < len(ran.curve) and ran.curve[at + 1][0] < t_s:
            at += 1
        (a_s, a_c), (b_s, b_c) = ran.curve[at], ran.curve[min(at + 1, len(ran.curve) - 1)]
        share = (t_s - a_s) / (b_s - a_s) if b_s > a_s and t_s > a_s else 0.0
        trace.append((t_s, a_c + share * (b_c - a_c) + rng.gauss(0, noise_k)))
    return PastFiring(planned, [Ran(part.part, part.start_s, part.end_s) for part in ran.parts], trace)
