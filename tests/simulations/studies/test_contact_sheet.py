"""Small pictures of single firings: the readings, the parts, what was asked, and every alert that was told."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from daemon.firing.report import judge
from simulations.studies.contact_sheet import contact_sheet
from simulations.studies.study import case_named

NAMES = ["first-brisk-4-7013", "first-clean-7042", "first-anneal-skipped-7013"]


def test_every_firing_named_is_drawn_with_what_was_told_of_it():
    drawn = contact_sheet(NAMES, "A few <firings>", jobs=1)
    root = ElementTree.fromstring(drawn)
    words = [text.text for text in root.iter("{http://www.w3.org/2000/svg}text")]
    assert words[0] == "A few <firings>"
    assert [word for word in words if word in NAMES] == NAMES
    assert any(word.startswith("asked: cooling-too-fast") for word in words)
    case = case_named("first-brisk-4-7013")
    told = judge(case.setup, case.entries(case.fire())).alerts
    assert {a.kind for a in told if a.under is None and a.rank.value != "log"} <= set(words)
    assert drawn.count('stroke-width="3"') >= 2  # a wake in each of the two that went wrong
    cells = [group for group in root if "translate" in group.get("transform", "")]
    assert len(cells) == 3
    for cell in cells:
        trace = max((path.get("d") for path in cell.iter("{http://www.w3.org/2000/svg}path")), key=len)
        assert len(re.findall("[ML]", trace)) > 100


def test_a_sheet_of_none_says_so():
    assert ">none<" in contact_sheet([], "False wakes: 0")
