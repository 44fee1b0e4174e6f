"""The command ``lehrling``: finds its subcommands by entry points and turns trouble into sentences."""

from __future__ import annotations

import argparse
import errno
import os
import sys
from collections.abc import Sequence
from importlib.metadata import EntryPoint, entry_points, version

from daemon.errors import BadInput
from daemon.subcommand import Command

GROUP = "lehrling.commands"
BAD_INPUT = 2
"""Exit status after bad input. [common practice: argparse ends with it too]"""
_FULL = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO})
"""Why printing fails where the disk is full."""
_ABOUT = """Sits up with a glass kiln: logs a firing, follows its plan, and wakes the maker when it matters.
It never controls the kiln. It is a helper, not a safety device."""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one subcommand and return its exit code: 0 done, 2 bad input, 3 a wake alert was raised."""
    given = list(sys.argv[1:] if argv is None else argv)
    found = {point.name: point for point in entry_points(group=GROUP)}
    name = given[0] if given and given[0] in found else None
    parser = argparse.ArgumentParser(prog="lehrling", description=_ABOUT,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--version", action="version", version=f"lehrling {version('lehrling')}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    # Only the command asked for is imported, so that a replay does not wait for the page's libraries.
    for point in sorted(found.values()) if name is None else [found[name]]:
        command = _load(point)
        sub = commands.add_parser(point.name, help=command.summary, description=command.summary)
        command.configure(sub)
        sub.set_defaults(run=command.run)
    args = parser.parse_args(given)
    return _run(args)


def _load(point: EntryPoint) -> Command:
    command = point.load()
    if not isinstance(command, Command):
        raise TypeError(f"{point.value} is no Command")
    return command


def _run(args: argparse.Namespace) -> int:
    try:
        code: int = args.run(args)
        sys.stdout.flush()
        return code
    except BadInput as err:
        print(f"lehrling: {err.text}", file=sys.stderr)  # noqa: T201 - the command line's own voice
        return BAD_INPUT
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        _drop_output()  # the reader of a pipe has seen enough
        return 0
    except OSError as err:
        if err.filename is not None or err.errno not in _FULL:
            raise
        _drop_output()
        print(f"lehrling: the output can't be written: {err.strerror}. Make room, or send it elsewhere.",  # noqa: T201
              file=sys.stderr)
        return BAD_INPUT


def _drop_output() -> None:
    """Keep Python from complaining, as it exits, of what it could not print."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


if __name__ == "__main__":
    sys.exit(main())
