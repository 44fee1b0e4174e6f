"""``lehrling archive verify``: the record, or an archive, checked against its chains."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from daemon.commands.archiving.record import bar, open_record, say, write_json
from daemon.commands.folders import settings
from daemon.errors import BadInput

if TYPE_CHECKING:
    from daemon.store.chain.verify import Verified

PROVES = """This finds what was changed, lost or exchanged after it was kept, by a fault or by hand.
It proves nothing against somebody who writes the whole file anew, unless a mark was printed or
kept elsewhere. To ask for such a mark: lehrling archive verify --mark MARK"""


def verify_record(args: argparse.Namespace) -> int:
    """Check the record against its chains; bad input where something was changed."""
    if args.mark is not None:
        return _mark(args)
    from daemon.archive.words import spans, verified_json, verified_lines
    from daemon.store.chain.verify import verify

    zone = settings(args).zone
    found: list[Verified] = []
    with open_record(args) as db:
        for one in verify(db):
            found.append(one)
            for line in () if args.json else verified_lines(one, zone):
                say(line)
    wrong = [one.firing_id for one in found if one.state in ("changed", "missing")]
    if args.json:
        write_json({"whole": not wrong, "firings": [verified_json(one, zone) for one in found]})
    else:
        say("There is no firing yet." if not found else PROVES)
    if wrong:
        raise BadInput(str(args.data), f"not as it was kept: firing {spans(wrong)}.",
                       "Keep this record as it is. An older copy may have what was lost: lehrling copies list")
    return 0


def _mark(args: argparse.Namespace) -> int:
    """Say which firing had a mark, and whether it is still as it was kept."""
    from daemon.archive.words import counted, verified_json
    from daemon.store.chain.verify import verify
    from daemon.store.safety import record_mark

    mark = record_mark.typed(args.mark)
    if mark is None:
        raise BadInput(f"--mark {args.mark}", "is no mark.",
                       "A mark is four groups of five letters and digits, as printed on the card.")
    zone = settings(args).zone
    with open_record(args) as db:
        had = record_mark.had(db, mark)
        found = next((one for one in verify(db) if had and one.firing_id == had[0][0]), None)
    if found is None:
        raise BadInput(f"--mark {mark}", "no firing here has had this mark.",
                       "Is it typed as it is printed? Else the firing is not in this record, or was written anew.")
    if args.json:
        write_json({**verified_json(found, zone), "links_at_mark": had[0][1] + 1})
    after = found.links - had[0][1] - 1
    if found.state != "whole":
        raise BadInput(f"firing {found.firing_id}", found.sentences(zone)[0],
                       "Keep this record as it is. An older copy may have what was lost: lehrling copies list")
    if not args.json:
        say(f"Firing {found.firing_id}, {found.title}, had this mark. What was kept until then is as it was kept."
            + (f" {counted(after, 'entry', 'entries')} came later, such as notes and corrections." if after else ""))
    return 0


def verify_archive(args: argparse.Namespace) -> int:
    """Read an archive through."""
    from daemon.archive.source import open_archive
    from daemon.archive.take_in import check_all
    from daemon.archive.words import counted

    with open_archive(args.source) as source:
        studio, firings, photographs = check_all(source, bar)
    if args.json:
        write_json({"whole": True, "firings": firings, "pieces": len(studio["pieces"]), "photographs": photographs})
        return 0
    say(f"{args.source} is whole: {counted(firings, 'firing')}, {counted(len(studio['pieces']), 'piece')} and "
        f"{counted(photographs, 'photograph')}, as they were kept.\n{PROVES}")
    return 0
