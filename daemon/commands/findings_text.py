"""What the doctor found, as text: a line for each part, and below it what to do."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from daemon.doctor.finding import Finding

TO_MEND = 1
"""Exit code where something is to be mended. [chosen: as a trial alert that was not delivered; 2 is bad input]"""
_WIDE = 20
"""Width of the column of parts [characters]. [chosen: the longest name of a part]"""


def write_findings(findings: Sequence[Finding]) -> None:
    """Write the findings, and how many ask for an act."""
    from daemon.doctor.finding import State

    words = {State.GOOD: "good", State.NOTE: "note", State.MEND: "MEND"}
    for finding in findings:
        sys.stdout.write(f"{words[finding.state]}  {finding.part:<{_WIDE}}  {finding.said}\n")
        if finding.do:
            sys.stdout.write(f"{'':{_WIDE + 8}}{finding.do}\n")
    count = sum(finding.state is State.MEND for finding in findings)
    sys.stdout.write("\nNothing is to be mended." if not count else
                     f"\n{count} thing{'' if count == 1 else 's'} to mend.")
    sys.stdout.write(" This is a helper, not a safety device.\n")
