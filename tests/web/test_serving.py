"""The pages on a socket: on this machine alone unless said otherwise, and a taken port is told."""

from __future__ import annotations

import socket

import pytest

from evalkit.errors import InputError
from evalkit.web.serving import EXPOSES, listen, own_addresses, qr_lines


def test_alone_on_this_machine():
    found = listen(0, is_on_network=False)
    with found.socket:
        assert found.socket.getsockname()[0] == "127.0.0.1"
        assert found.address == f"http://127.0.0.1:{found.port}/"


def test_on_the_network_it_listens_everywhere():
    found = listen(0, is_on_network=True)
    with found.socket:
        assert found.socket.getsockname()[0] == "0.0.0.0"  # noqa: S104 - that is what was asked for


def test_a_taken_port_is_told():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        with pytest.raises(InputError, match="cannot be used"):
            listen(taken.getsockname()[1], is_on_network=False)


def test_own_addresses_are_no_loopback():
    assert not [address for address in own_addresses() if address.startswith("127.")]


def test_it_says_what_plain_http_exposes_and_to_whom():
    assert "plain HTTP" in EXPOSES
    assert "everybody on this Wi-Fi" in EXPOSES


def test_a_code_for_the_camera():
    lines = qr_lines("http://192.0.2.7:8537/door?code=123456")
    assert len(lines) > 10
    assert len({len(line) for line in lines if line.strip()}) >= 1
