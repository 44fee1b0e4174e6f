"""Alert, page, ``lehrling anneal`` and ``lehrling plan check`` say the same figure for the same load."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from daemon.cli import main
from daemon.firing.events import Rank, Sample
from daemon.firing.plan.plan import Plan, Step, parse_plan, write_plan
from daemon.firing.report import judge
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from web.pieces.next_firing_advice import Been, respects
from web.plans.check import Load, check

LOADS = [(name, mm, faces) for name in ("90", "float") for mm in (3.0, 6.0, 9.0, 12.0, 19.0, 38.0)
         for faces in (1, 2)]
STEP_S = 30.0
FALLS_C_PER_H, CLIMBS_C_PER_H = 350.0, 400.0
"""Faster than any of these loads bears."""


def of_load(name: str, mm: float, faces: int) -> list[str]:
    return ["--glass", name, "--thickness-mm", f"{mm:g}", "--faces", str(faces)]


def figure(pattern: str, text: str) -> float:
    """Return the one figure that the pattern's group finds, however often it is said."""
    found = {float(value) for value in re.findall(pattern, text.replace("\u00a0", " "))}
    assert len(found) == 1, (pattern, text)
    return found.pop()


def night(legs: list[tuple[float, float, float]]) -> Iterator[Sample]:
    """Yield the readings of a kiln that goes straight: (to °C, °C/h, then held for s)."""
    t_s, here_c = 0.0, 20.0
    yield Sample(t_s, here_c)
    for to_c, rate, hold_s in legs:
        number = max(1, round(abs(to_c - here_c) / rate * 3600 / STEP_S))
        temps = [here_c + (to_c - here_c) * k / number for k in range(1, number + 1)]
        for temp_c in [*temps, *[to_c] * round(hold_s / STEP_S)]:
            t_s += STEP_S
            yield Sample(t_s, temp_c)
        here_c = to_c


def told_by_the_alert(name: str, mm: float, faces: int, advice: dict) -> tuple[float, float]:
    """Return the cooling and the climb that the alert of a fall too fast names [°C/h]."""
    hold_c, first = advice["hold_c"], advice["stages"][0]
    plan = Plan("Night", "C", (Step(200, 650, 600), Step(None, hold_c, 2700, "anneal"),
                               Step(first["rate_c_per_h"], first["to_c"]), Step(None, 40)))
    rows = night([(650, 200, 600), (hold_c, 600, 2700), (first["to_c"] + 5.0, FALLS_C_PER_H, 0)])
    alerts = judge(Setup(plan, FAMILIES[name], mm, faces), rows).alerts
    texts = [alert.text for alert in alerts if alert.kind == "cooling-too-fast" and alert.rank is Rank.WAKE]
    assert len(texts) == 1
    return (figure(r"usually bears about (\d+) °C/h", texts[0].meaning),
            figure(rf"Key in these lines, then press start: (\d+) °C/h to {hold_c:.0f} °C", texts[0].do))


@pytest.mark.parametrize(("name", "mm", "faces"), LOADS)
def test_whoever_is_asked_names_the_same_cooling_and_the_same_climb(name: str, mm: float, faces: int, tmp_path: Path,
                                                                   capsys: pytest.CaptureFixture[str]) -> None:
    load = of_load(name, mm, faces)
    assert main(["anneal", *load, "--json"]) == 0
    advice = json.loads(capsys.readouterr().out)
    cooling = advice["stages"][0]["rate_c_per_h"]
    keyed_in = tmp_path / "anneal.toml"
    assert main(["anneal", *load, "--plan", str(keyed_in)]) == 0
    first_c = advice["stages"][0]["to_c"]
    assert figure(rf"then (\d+) °C/h \([\d.]+ °F/h\) to {first_c:.0f} °C", capsys.readouterr().out) == cooling
    climb = parse_plan(keyed_in.read_text(), "anneal").steps[0].rate_c_per_h

    doubtful = Plan("Too fast", "C", (Step(CLIMBS_C_PER_H, 790, 600), Step(None, advice["hold_c"], 36000, "anneal"),
                                      Step(FALLS_C_PER_H, 380), Step(None, 40)))
    path = tmp_path / "plan.toml"
    path.write_text(write_plan(doubtful))
    assert main(["plan", "check", str(path), *load]) == 0
    page = " ".join(check(doubtful, Load(name, FAMILIES[name], mm, faces, uneven=False), "C"))
    for said in (capsys.readouterr().out, page):
        assert figure(r"falls 350 °C/h; .*?ordinarily bears about (\d+) °C/h", said) == cooling
        assert figure(r"climbs 400 °C/h .*?ordinarily bears about (\d+) °C/h", said) == climb

    assert told_by_the_alert(name, mm, faces, advice) == (cooling, climb)

    if faces == 1:  # how a piece will lie next time is not known; what is told of it is the slower
        advised = " ".join(respects([Been("Fri 13 Nov", 799.0, False, ())], mm, FAMILIES[name], "", "C"))
        assert figure(r"climb no faster than about (\d+) °C/h", advised) == climb
        brittle_c = figure(r"Below (\d+) °C climb no faster", advised)
        assert figure(r"climbs 400 °C/h below (\d+) °C", page) == brittle_c
