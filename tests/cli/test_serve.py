"""The command that opens the marking pages: what it refuses before anything is served."""

from __future__ import annotations

import socket

from tests.cli.desk import Desk


def test_without_a_book_nothing_is_served(empty_desk: Desk):
    assert "book" in empty_desk.refuse("serve", "--port", "0")


def test_a_port_that_is_taken_is_told(stocked: Desk):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        told = stocked.refuse("serve", "--port", str(port))
    assert f"the port {port} cannot be used" in told
    assert "--port" in told


def test_a_port_that_is_none_is_told(stocked: Desk):
    assert "less than or equal to 65535" in stocked.refuse("serve", "--port", "70000")


def test_it_serves_until_it_is_stopped(stocked: Desk, monkeypatch):
    """With the server itself taken away: the address is told, and the code only where it is asked for."""
    import uvicorn

    ran: list[str] = []

    class Stopped:
        def __init__(self, config: uvicorn.Config) -> None:
            self.config = config

        def run(self, sockets: list[socket.socket]) -> None:
            ran.append(sockets[0].getsockname()[0])
            sockets[0].close()

    monkeypatch.setattr(uvicorn, "Server", Stopped)
    out = stocked.do("serve", "--port", "0").out
    assert out.startswith("Marking pages: http://127.0.0.1:")
    assert "Code" not in out
    out = stocked.do("serve", "--port", "0", "--lan").out
    assert "nothing on the way is encrypted (plain HTTP)" in out
    assert "Code: " in out
    assert ran == ["127.0.0.1", "0.0.0.0"]  # noqa: S104 - that is what was asked for
