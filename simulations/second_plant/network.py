"""A network of heat capacities and conductances, stepped by implicit Euler: stable at any step."""

from __future__ import annotations

from collections.abc import Sequence

ROOM = -1
"""The node that keeps its temperature whatever flows into it. [chosen: no list has that index from the front]"""


class Network:
    """Nodes that store heat, and the conductances between them.

    The equations of a step, ``C (T' - T)/dt = P + sum G (Tj' - T')``, are a symmetric positive definite system. It is
    solved by elimination in the order of the nodes; which entries fill in is found once.

    Parameters
    ----------
    capacities_j_per_k
        Heat capacity of every node [J/K].
    links
        Pairs of nodes that exchange heat; ROOM may be the second of a pair.
    temp_c
        What all of them have to begin with [°C].
    """

    def __init__(self, capacities_j_per_k: Sequence[float], links: Sequence[tuple[int, int]], temp_c: float) -> None:
        n = len(capacities_j_per_k)
        self.capacities_j_per_k = list(capacities_j_per_k)
        self.links = list(links)
        self.conductances_w_per_k = [0.0] * len(self.links)
        self.temps_c = [temp_c] * n
        self.lost_j = 0.0
        """Heat that has gone to the room [J]."""
        self._is_stale = True
        self._dt_s = 0.0
        self._slots = self._find_slots(n)
        self._entries: list[float] = []
        self._plan = self._find_plan(n)

    def _find_slots(self, n: int) -> dict[tuple[int, int], int]:
        """Return the place of every entry beside the diagonal, fill-in included, by its (lower, upper) node."""
        later: list[set[int]] = [set() for _ in range(n)]
        for a, b in self.links:
            if b != ROOM:
                later[min(a, b)].add(max(a, b))
        slots: dict[tuple[int, int], int] = {}
        for node in range(n):
            row = sorted(later[node])
            for at, neighbour in enumerate(row):
                slots[node, neighbour] = n + len(slots)
                later[neighbour].update(row[at + 1:])
        return slots

    def _find_plan(self, n: int) -> list[list[tuple[int, int, list[tuple[int, int]]]]]:
        """Return for every node its later neighbours: (node, place of the entry, places it changes)."""
        plan: list[list[tuple[int, int, list[tuple[int, int]]]]] = []
        for node in range(n):
            row = sorted(j for i, j in self._slots if i == node)
            plan.append([
                (j, self._slots[node, j], [
                    (self._slots[node, k], j if k == j else self._slots[j, k]) for k in row[at:]
                ]) for at, j in enumerate(row)
            ])
        return plan

    def conduct(self, link: int, conductance_w_per_k: float) -> None:
        """Set what a link conducts from the next step on [W/K]."""
        if conductance_w_per_k != self.conductances_w_per_k[link]:
            self.conductances_w_per_k[link] = conductance_w_per_k
            self._is_stale = True

    def step(self, dt_s: float, heat_w: Sequence[tuple[int, float]], room_c: float) -> None:
        """Move on by ``dt_s`` [s] with the heat put into some nodes [W] and the room at ``room_c`` [°C]."""
        if self._is_stale or dt_s != self._dt_s:
            self._factor(dt_s)
        temps_c, entries, plan = self.temps_c, self._entries, self._plan
        right = [c / dt_s * temp_c for c, temp_c in zip(self.capacities_j_per_k, temps_c, strict=True)]
        for node, power_w in heat_w:
            right[node] += power_w
        for node, conductance in self._to_room:
            right[node] += conductance * room_c
        for node, row in enumerate(plan):
            here = right[node] / entries[node]
            for neighbour, slot, _ in row:
                right[neighbour] -= entries[slot] * here
        for node in range(len(temps_c) - 1, -1, -1):
            value = right[node]
            for neighbour, slot, _ in plan[node]:
                value -= entries[slot] * temps_c[neighbour]
            temps_c[node] = value / entries[node]
        self.lost_j += dt_s * sum(g * (temps_c[node] - room_c) for node, g in self._to_room)

    def _factor(self, dt_s: float) -> None:
        """Eliminate node after node for steps of ``dt_s`` [s]."""
        n = len(self.temps_c)
        entries = [c / dt_s for c in self.capacities_j_per_k] + [0.0] * len(self._slots)
        self._to_room = []
        for (a, b), conductance in zip(self.links, self.conductances_w_per_k, strict=True):
            entries[a] += conductance
            if b == ROOM:
                self._to_room.append((a, conductance))
            else:
                entries[b] += conductance
                entries[self._slots[min(a, b), max(a, b)]] -= conductance
        for node in range(n):
            for _, slot, changes in self._plan[node]:
                share = entries[slot] / entries[node]
                if share:
                    for source, target in changes:
                        entries[target] -= share * entries[source]
        self._entries, self._dt_s, self._is_stale = entries, dt_s, False

    def stored_j(self) -> float:
        """Return the heat stored above 0 °C [J]."""
        return sum(c * temp_c for c, temp_c in zip(self.capacities_j_per_k, self.temps_c, strict=True))
