"""``lehrling web``: the page, served to the home network by waitress; what systemd runs."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from daemon.commands.folders import (
    add_places,
    keep_files_private,
    refuse_no_folder,
    refuse_root,
    service_settings,
    settings_file,
)
from daemon.subcommand import Command

if TYPE_CHECKING:
    import socket
    from collections.abc import Callable

    from daemon.settings.config import Config
    from web.settings import Settings

THREADS = 4
"""Requests that are answered at once. [chosen: a household, on a computer with four cores]"""
_LONGEST_LINE = 4096
"""Of a passcode that is piped in so much is read [bytes]. [chosen: far beyond the longest that is taken]"""


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_places(parser, run_holds="the present state")
    parser.add_argument("--host", metavar="ADDRESS", help="where to listen (default 127.0.0.1; 0.0.0.0: the house)")
    parser.add_argument("--port", metavar="N", type=int, help="port (default 8080)")
    parser.add_argument("--open", "--demo", dest="open_house", action="store_true",
                        help="ask nobody for a passcode; on this machine only, for trying things")
    parser.add_argument("--set-passcode", action="store_true", help="ask for a new passcode, keep it, and end")


def run(args: argparse.Namespace) -> int:
    """Serve until told to stop by SIGTERM or SIGINT; with --set-passcode, keep a passcode and end."""
    import logging
    import os
    import sys

    from daemon.errors import BadInput
    from daemon.settings.page_address import LOOPBACK, address_problem
    from web.security.calendar_address import HideAddress

    logging.basicConfig(stream=sys.stderr, level=logging.INFO, format="%(levelname)s %(message)s")
    for handler in logging.getLogger().handlers:
        handler.addFilter(HideAddress())
    config = service_settings(args)
    refuse_no_folder(args, "Start lehrling daemon first, or give its folder.")
    settings = settings_of(args, config)
    keep_files_private()
    if args.set_passcode:
        return set_passcode(settings)
    refuse_root(args.data, os.geteuid())
    host, port = args.host or config.page.host, config.page.port if args.port is None else args.port
    if wrong := address_problem(host, behind_tls=settings.behind_tls):
        raise BadInput(f"--host {host}", *wrong)
    if settings.open_house and host not in LOOPBACK and config.probe.kind != "bench":
        raise BadInput(f"--open --host {host}",
                       "a page without a passcode is for this machine only, unless its kiln is the bench.",
                       "Leave --host out, or leave --open out and set a passcode.")
    return _serve(settings, host, port, lambda: settings_of(args, service_settings(args)), settings_file(args))


def settings_of(args: argparse.Namespace, config: Config) -> Settings:
    """Return the page's settings from its options and the owner's file."""
    from zoneinfo import ZoneInfo

    from daemon.wall_clock import machine_zone
    from web.settings import Settings

    return Settings(
        data_dir=args.data, run_dir=args.run_dir, kiln=config.kiln_name, unit=config.unit,
        zone=ZoneInfo(config.time_zone) if config.time_zone else machine_zone(),
        allowed_hosts=config.page.allowed_hosts, open_house=args.open_house,
        passcode_file=config.page.passcode_file, open_reading=config.page.open_reading,
        metrics=config.page.metrics, studio=config.page.studio,
        behind_tls=config.page.behind_tls, others=config.page.others, config=config,
    )


def _serve(settings: Settings, host: str, port: int, fresh: Callable[[], Settings], file: Path) -> int:
    """Serve at an address; with ``fresh`` settings whenever their file changes, but for address and proxy."""
    from daemon.errors import BadInput
    from daemon.settings.change import file_mark
    from web.app import create_app
    from web.reloading import Reloading

    if not 1 <= port <= 65535:
        raise BadInput(f"--port {port}", "is outside 1 to 65535.", "8080 is usual.")
    return serve(settings, host, port, Reloading(lambda: create_app(fresh()), lambda: file_mark(file)))


def serve(settings: Settings, host: str, port: int, app: Callable[..., Any]) -> int:
    """Serve a WSGI application until told to stop by SIGTERM or SIGINT.

    Raises
    ------
    BadInput
        Where the address or the port can't be used.
    """
    import logging
    import signal

    import waitress

    from daemon.errors import BadInput
    from daemon.service.watchdog import READY, STOPPING, notify
    from daemon.settings.page_address import host_at_fault, listen
    from web.kiln import rehearsal
    from web.pieces.photographs import MOST_SENT
    from web.security import connections
    from web.settings import MAX_BODY_BYTES

    # Bound here and not by waitress, which leaves its pieces lying about where binding fails.
    try:
        listening = listen(host, port)
    except OSError as error:
        if wrong := host_at_fault(error):
            raise BadInput(f"--host {host}", *wrong) from None
        raise BadInput(f"--port {port}", f"can’t be used at {host}: {error.strerror}.",
                       "Give another one, such as --port 8081, or end what listens there.") from None
    server = waitress.create_server(
        app, sockets=[listening], threads=THREADS, max_request_body_size=MOST_SENT + MAX_BODY_BYTES,
        clear_untrusted_proxy_headers=True, ident=None, asyncore_use_poll=True, **connections.adjustments(),
        **proxy_of(settings),
    )
    connections.bound(server, settings.clock.now_s, behind_proxy=settings.behind_tls)
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, _leave)
    logging.getLogger("lehrling.web").info("page at http://%s:%s/", "[::1]" if host == "::1" else host, port)
    end_check = _start_self_check(listening, settings.clock.now_s)
    notify(READY)
    try:
        server.run()
    except SystemExit:
        pass
    finally:
        notify(STOPPING)
        end_check()
        server.close()
        rehearsal.end(settings.data_dir)
    return 0


def _start_self_check(listening: socket.socket, now_s: Callable[[], float]) -> Callable[[], None]:
    """Let the page ask itself where systemd waits for signs of life; return the function that ends that."""
    from daemon.service.watchdog import watchdog_s
    from web.self_check import SelfCheck

    silence_s = watchdog_s()
    if silence_s is None:
        return lambda: None
    check = SelfCheck(listening, silence_s, now_s)
    check.start()
    return check.close


def proxy_of(settings: Settings) -> dict[str, Any]:
    """Return what waitress is told of a proxy: to believe one on this machine, and nobody else.

    Without it every visitor behind the proxy would seem to sit at the machine itself.
    """
    if not settings.behind_tls:
        return {}
    return {"trusted_proxy": "127.0.0.1", "trusted_proxy_count": 1,
            "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto"}}


def _leave(number: int, _frame: object) -> None:
    """End waitress's loop; it lets SystemExit through."""
    raise SystemExit(0)


def set_passcode(settings: Settings) -> int:
    """Ask for a passcode and keep it.

    Raises
    ------
    BadInput
        Where it can't be used.
    """
    import getpass
    import sys

    from daemon.errors import BadInput
    from web.security import passcode

    if sys.stdin.isatty():
        wanted = getpass.getpass("New passcode: ")
        if wanted != getpass.getpass("Once more: "):
            raise BadInput("passcode", "the two are not the same.", "Start again.")
    else:
        try:
            wanted = sys.stdin.buffer.readline(_LONGEST_LINE).decode().rstrip("\r\n")
        except UnicodeDecodeError:
            raise BadInput("passcode", "holds bytes that are no text (UTF-8).", "Type it, or pipe in plain text.") \
                from None
    passcode.keep(settings.passcode_path, wanted)
    sys.stdout.write(f"Kept in {settings.passcode_path}. Whoever was let in before is asked again.\n")
    return 0


COMMAND = Command("serve the page", configure, run)
