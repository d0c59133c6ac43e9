"""The server: on this machine alone or for the workshop's network, and the addresses that let somebody in."""

from __future__ import annotations

import socket
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import uvicorn

from optimiser.bench.app import bench_app
from optimiser.bench.bench import Bench
from optimiser.bench.doors import SESSION_LIFE, Doors, VisitorRole
from optimiser.bench.searches import Searches
from optimiser.errors import InputError
from optimiser.ledger.connection import Ledger, ledger_in
from optimiser.report.unit_system import UnitSystem

THIS_MACHINE: Final = "127.0.0.1"
BACKLOG: Final = 512
"""Connections that wait to be taken."""
EVERYWHERE: Final = "0.0.0.0"  # noqa: S104 (only when the user asks for it)


@dataclass(frozen=True, slots=True)
class Opened:
    """A bench ready to be served.

    Parameters
    ----------
    server : serves it.
    socket : that it listens on.
    addresses : of the page, the first on this machine.
    way_in : the address that lets its owner in, once.
    """

    server: uvicorn.Server
    socket: socket.socket
    addresses: tuple[str, ...]
    way_in: str

    def serve(self) -> None:
        """Serve until somebody ends it."""
        self.server.run(sockets=[self.socket])


def open_bench(shop: Path, *, port: int, for_the_workshop: bool, units: UnitSystem) -> Opened:
    """Make a bench ready.

    Parameters
    ----------
    shop : the shop's folder.
    port : to listen on; 0 for any that is free.
    for_the_workshop : whether other devices on the network may come in, each by a key.
    units : what people read.

    Raises
    ------
    InputError
        When the folder is no shop's, or nobody can listen there.
    """
    if not any((shop / name).is_dir() for name in ("jobs", "dampers")):
        raise InputError(
            f"{shop}: got a folder without jobs and dampers, expected a shop's. "
            "Name it with --shop, or lay one out with 'shimwright demo'."
        )
    if ledger_in(shop):
        with Ledger.open(shop):
            pass  # an older file is brought up to date here, so that looking at a page changes nothing
    listening = _listening(EVERYWHERE if for_the_workshop else THIS_MACHINE, port)
    port = listening.getsockname()[1]
    names = [THIS_MACHINE, "localhost"]
    shown = [THIS_MACHINE]
    if for_the_workshop:
        own = _own_address()
        names += [own, socket.gethostname().lower(), f"{socket.gethostname().lower()}.local"]
        shown.append(own)
    addresses = tuple(f"http://{name}:{port}" for name in dict.fromkeys(shown))
    doors = Doors()
    bench = Bench(
        shop.resolve(), doors=doors, searches=Searches(shop.resolve()), addresses=addresses, units=units
    )
    app = bench_app(bench, hosts={f"{name}:{port}" for name in names}, cookie=f"shimwright_bench_{port}")
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        date_header=False,
        proxy_headers=False,
        ws="none",
        h11_max_incomplete_event_size=32 * 1024,
        timeout_keep_alive=15,
        timeout_graceful_shutdown=3,
        limit_concurrency=600,
        backlog=BACKLOG,
    )
    way_in = f"{addresses[-1]}/enter/{doors.new_key(VisitorRole.WORKS, life=SESSION_LIFE)}"
    return Opened(uvicorn.Server(config), listening, addresses, way_in)


def _listening(host: str, port: int) -> socket.socket:
    one = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        one.bind((host, port))
        one.listen(BACKLOG)  # who opens the address at once waits instead of being refused
    except OSError as error:
        one.close()
        raise InputError(
            f"--port: got {port}, where nobody can listen ({error.strerror}); expected one that is free. "
            "Another bench may be open there: use it, or name another port."
        ) from None
    return one


def _own_address() -> str:
    """Address of this machine on its network; asks the system alone, nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
            return str(probe.getsockname()[0])
        except OSError:
            return THIS_MACHINE
