import socket

import pytest

from mockcheck.errors import BadBrief
from mockcheck.web.server import HOST, PORT, open_port


def taken_port() -> tuple[socket.socket, int]:
    taken = socket.create_server((HOST, 0))
    return taken, taken.getsockname()[1]


def test_the_port_that_is_asked_for_is_opened_on_this_machine_only() -> None:
    taken, number = taken_port()
    taken.close()
    with open_port(number) as bound:
        assert bound.getsockname() == ("127.0.0.1", number)


def test_a_port_in_use_is_refused_when_it_was_asked_for() -> None:
    taken, number = taken_port()
    with taken, pytest.raises(BadBrief, match=f"--port {number}: it cannot be used"):
        open_port(number)


def test_without_a_wish_any_free_port_does() -> None:
    with open_port(None) as first, open_port(None) as second:
        numbers = {first.getsockname()[1], second.getsockname()[1]}
        assert len(numbers) == 2
        assert second.getsockname()[0] == "127.0.0.1"
        # Whoever holds the usual port, the second one had to go elsewhere.
        assert second.getsockname()[1] != PORT
