"""``lehrling demo``: a kiln on the bench, the daemon and the page, with a small invented studio."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from daemon.subcommand import WAKE_RAISED, Command

if TYPE_CHECKING:
    from simulations.studio.demo_folder import DemoOptions
    from simulations.studio.status import Status

_AFTER_END_S = 600.0
"""Allowed beyond the moment at which the daemon ends a firing [s of firing]. [chosen: a few looks at the kiln]"""


def _configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--port", default="8080", metavar="N", help="port of the page (default: 8080)")
    parser.add_argument("--speed", default="300", metavar="N", help="times real time (default: 300)")
    parser.add_argument("--until-done", action="store_true", help="end when the firing has ended")
    parser.add_argument("--data", type=Path, metavar="DIR",
                        help="data folder (default: lehrling-demo in your state folder)")
    parser.add_argument("--kiln", metavar="NAME",
                        help="a kiln of the bench (lehrling rehearse --faults lists them)")
    parser.add_argument("--fault", action="append", default=[], metavar="NAME@WHEN",
                        help="what goes wrong, for instance cooling=2.5@step5:ramp+60s; may be given again")
    parser.add_argument("--seed", default="7", metavar="N",
                        help="the same seed gives the same firing (default: 7)")
    parser.add_argument("--tell", type=Path, metavar="FILE",
                        help="send alerts to the address in FILE, as lehrling deliver does")
    parser.add_argument("--host", default="127.0.0.1", metavar="ADDRESS",
                        help="where the page listens (default: this computer only; 0.0.0.0: your phone too)")
    parser.add_argument("--like", type=Path, metavar="FILE",
                        help="take units, time zone and channels from this settings file")
    parser.add_argument("--for-page", action="store_true",
                        help="a short firing for lehrling web, which shows it and sends what it says")


def _run(args: argparse.Namespace) -> int:
    """Run the demonstration until it ends or is ended."""
    from daemon.clock import SystemClock
    from daemon.commands.load_options import number, whole
    from daemon.firing.plan.plan import parse_plan
    from daemon.lifecycle.auto_end import COLD_S
    from simulations.firing import read_faults, simulate
    from simulations.studio.demo import Demonstration, ended_like_ctrl_c
    from simulations.studio.demo_folder import DemoFolder
    from simulations.studio.processes import Processes, end_with_parent
    from simulations.studio.status import Status

    options = _options(args)
    port = whole("--port", args.port, 1, 65535)
    speed = number("--speed", args.speed, 1, 5000, "times real time")
    plan = parse_plan(options.plan, "the demonstration's plan")
    faults = read_faults(options.faults, plan)
    total_s = simulate(plan, options.kiln, faults, options.seed).samples[-1].t_s + COLD_S + _AFTER_END_S
    if not args.for_page:
        _check_port(args.host, port)
    clock = SystemClock()
    folder = DemoFolder(options, clock.utc())
    status = Status(total_s)
    _announce(status, options.folder, total_s / speed)
    if args.for_page:
        end_with_parent()
    undo = ended_like_ctrl_c()
    with Processes(options.folder) as processes:
        show = Demonstration(folder, processes, status, clock)
        try:
            show.start(None if args.for_page else (args.host, port), speed)
            show.open()
            if not args.for_page:
                show.wait_for_page(args.host, port)
                status.say(page_at(args.host, port))
            show.follow(total_s)
            if not args.until_done:
                status.say("The firing has ended. The page stays up until Ctrl-C.")
                show.stay()
        except KeyboardInterrupt:
            status.say("Ending.")
        finally:
            status.close()
            undo()
    return WAKE_RAISED if show.woke() else 0


def page_at(host: str, port: int) -> str:
    """Return what to say of the page: its address, and what it means where the house can reach it."""
    if host in ("127.0.0.1", "localhost", "::1"):
        return f"Page: http://127.0.0.1:{port}/"
    from socket import gethostname

    shown = gethostname() if host in ("0.0.0.0", "::") else host
    return (f"Page: http://{shown}:{port}/ from every device in your network, without a passcode: whoever can "
            "reach it may press its buttons. Kiln and studio are invented. Ctrl-C closes it.")


def _announce(status: Status, folder: Path, lasts_s: float) -> None:
    """Say what is about to run, where its data is, and how long it takes [wall s]."""
    status.say("A demonstration: the kiln is simulated and the studio invented.")
    status.say(f"Its data is in {folder}; it may be deleted afterwards.")
    status.say(f"The firing takes about {max(1, round(lasts_s / 60))} min. Ctrl-C ends everything.")
    status.say("It is being started; that takes some seconds.")


def _options(args: argparse.Namespace) -> DemoOptions:
    """Return what the command line asks for; BadInput where it can't be had."""
    from daemon.commands.load_options import whole
    from daemon.delivery.sender import address
    from daemon.firing.events import Rank
    from daemon.notify.alert_messages import Channel
    from simulations.firing import DEFAULT_KILN, kiln_named
    from simulations.studio.demo_folder import DemoOptions, default_folder

    seed = whole("--seed", args.seed, 0, 2**31 - 1)
    if args.tell is not None:
        # Read here once, so that what delivery would refuse is told before anything starts.
        address(Channel("demo", args.tell, (Rank.WAKE,)))
    kiln = kiln_named(args.kiln or DEFAULT_KILN).name
    folder = (args.data or default_folder()).absolute()
    return DemoOptions(folder, kiln, tuple(args.fault), seed, args.tell, args.like, args.for_page)


def _check_port(host: str, port: int) -> None:
    """Raise BadInput where the page could not be served at this port."""
    import socket

    from daemon.errors import BadInput

    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET) as trial:
        trial.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trial.bind((host, port))
        except OSError as err:
            raise BadInput(f"--host {host} --port {port}", f"can't be used: {err.strerror}.",
                           "Give another one, such as --port 8081.") from None


COMMAND = Command("a simulated kiln, the daemon and the page, with a small invented studio", _configure, _run)
