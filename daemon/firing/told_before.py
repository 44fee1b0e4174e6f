"""What was told before lines were keyed in stays as it was told; what is told after them goes by the new plan.

The plan that "I keyed these in" makes has the steps that were done, what broke off, and the lines. So that the kiln
is found in it, all readings of the firing are judged by it, from the first one on. Of what the watches find in them
on the way nobody was told, so it is thrown away. Until the lines were keyed in, the plan before tells, with its own
parts, alerts and milestones. At that second the board of the new plan takes over the alerts of the one before, with
their numbers, words, times and quiet, and goes on with them. A replay of the stored entries does the same with the
same two plans, and comes to the same steps of alerts.

Two other ways were weighed. *To graft the new steps onto the follower of the old plan and judge nothing anew*: a
restart would cost half as much. But follower, boundaries, usual difference and every watch hold numbers of parts and
times of the old plan, and each would need a rule of its own for what becomes of them. *To compare the new alerts with
the stored ones by kind and beginning*: the record does not hold all that a board remembers, such as when it sounded
last and what is about to be raised, and one trouble begins at two times by two plans.
"""

from __future__ import annotations

from collections.abc import Iterable

from daemon.firing.events import Alert, Event, PartsRevised
from daemon.firing.setup import Setup
from daemon.firing.state import State

_SAME_S = 0.5
"""Two seconds of a firing nearer than this are one [s]. [chosen: below the second in which a word is taken]"""


def is_to_come(state: State, t_s: float) -> bool:
    """Return whether the lines of the state's plan are keyed in only after ``t_s`` [s]."""
    keyed_in = None if state.setup.plan is None else state.setup.plan.keyed_in
    return keyed_in is not None and t_s < keyed_in.at_s


def keyed_in_at(setup: Setup) -> tuple[float, ...]:
    """Return when lines were keyed in that became a plan of the firing [s], the first ones first."""
    plans = (*setup.left, *([] if setup.plan is None else [setup.plan]))
    return tuple(plan.keyed_in.at_s for plan in plans if plan.keyed_in is not None)


def is_ended_by_lines(alert: Alert, keyed_s: Iterable[float]) -> bool:
    """Return whether an alert ended because lines were keyed in: they answer it, and it may well have been seen then.

    Parameters
    ----------
    alert
        The alert.
    keyed_s
        When lines were keyed in [s of firing].
    """
    return alert.cleared_s is not None and any(abs(alert.cleared_s - t_s) < _SAME_S for t_s in keyed_s)


def take_over(state: State, t_s: float) -> list[Event]:
    """Let a state go on from what the state before it has told; return what comes of that.

    Parameters
    ----------
    state
        The state by the plan that goes on, which has judged the same entries.
    t_s
        When its lines were keyed in [s].

    Returns
    -------
    list
        The end of each alert that is not found by the plan that goes on, and the parts by that plan.
    """
    before, state.before = state.before, None
    if before is None:
        return []
    changes = take_over(before, t_s)  # where lines were keyed in twice in one second
    state.milestones.take_over(before.milestones)
    return [*changes, *state.board.take_over(before.board, t_s), PartsRevised(t_s, state.found)]
