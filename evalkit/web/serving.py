"""Starting the pages: on this machine alone, or on the network with a code at the door."""

from __future__ import annotations

import socket
from collections.abc import Callable
from dataclasses import dataclass
from io import StringIO
from typing import TYPE_CHECKING

from evalkit.errors import InputError, MissingPartError

if TYPE_CHECKING:
    from evalkit.book.book import Book
    from evalkit.workbench import Workbench

LOOPBACK = "127.0.0.1"
HERE = (LOOPBACK, "localhost")
PORT = 8537

EXPOSES = """The pages are open to this network, and nothing on the way is encrypted (plain HTTP).
  What that shows: whoever can listen on the same network can read every page you load, the trainees' names, words and
  pictures among them, and could act in your name until you stop.
  Who that is: everybody on this Wi-Fi or cable, and whoever runs it. Do this at home or in the shop, never on a
  network that strangers use. The code keeps out those who only try the address. Stop with Ctrl-C when you are done."""

Say = Callable[..., None]


@dataclass(frozen=True, slots=True)
class Listening:
    """An open socket, and the address under which the pages answer."""

    socket: socket.socket
    port: int
    address: str


def serve(workbench: Workbench, book: Book, *, port: int, is_on_network: bool, say: Say) -> None:
    """Serve the pages until stopped. `say` speaks to whoever sits at the terminal.

    Raises InputError when the port is taken, MissingPartError without the libraries of the pages.
    """
    try:
        import uvicorn

        from evalkit.web.app import create_app
        from evalkit.web.door import Door
        from evalkit.web.guard import Frame, hosts_of
    except ImportError as error:
        raise MissingPartError(
            f"the marking pages need a library that is not installed ({error.name}).",
            mend="Install it with: pip install 'evalkit[web]'.",
        ) from None
    listening = listen(port, is_on_network=is_on_network)
    names = (*HERE, *own_addresses()) if is_on_network else HERE
    frame = Frame(hosts_of(names, listening.port), f"evalkit-{listening.port}", asks_code=is_on_network)
    door = Door(workbench.clock, lambda code: say(f"New code: {code}")) if is_on_network else None
    app = create_app(workbench, book, frame, door=door)
    say(f"Marking pages: {listening.address}", "Stop with Ctrl-C; what was kept is kept.")
    if door is not None:
        say("", EXPOSES, "", f"Code: {door.code}", *qr_lines(f"{listening.address}door?code={door.code}"))
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, proxy_headers=False, server_header=False, lifespan="off"
    )
    uvicorn.Server(config).run(sockets=[listening.socket])


def listen(port: int, *, is_on_network: bool) -> Listening:
    """An open socket on this machine alone, or on every network it is part of. Raises InputError."""
    opened = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    opened.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        opened.bind(("" if is_on_network else LOOPBACK, port))
    except (OSError, OverflowError) as error:
        opened.close()
        reason = getattr(error, "strerror", None) or "it is out of range"
        raise InputError(
            f"the port {port} cannot be used ({reason.lower()}).", mend="Name another one with --port, like 8600."
        ) from None
    taken = opened.getsockname()[1]
    host = next(iter(own_addresses()), LOOPBACK) if is_on_network else LOOPBACK
    return Listening(opened, taken, f"http://{host}:{taken}/")


def own_addresses() -> tuple[str, ...]:
    """The addresses of this machine on its networks, the one it would reach others by first. Sends nothing."""
    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737); connecting UDP sends no packet
            found.append(str(probe.getsockname()[0]))
        except OSError:
            pass
    try:
        listed = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        found += [str(one[4][0]) for one in listed]
    except OSError:
        pass
    return tuple(dict.fromkeys(address for address in found if not address.startswith("127.")))


def qr_lines(address: str) -> list[str]:
    """The address as a QR code made of letters, for a tablet's camera."""
    import segno

    drawn = StringIO()
    segno.make(address, error="m").terminal(out=drawn, compact=True)
    return drawn.getvalue().splitlines()
