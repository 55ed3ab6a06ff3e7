"""Several processes of one server: each listens on a socket of its own at one address, and gets its part."""

from __future__ import annotations

import pickle
import socket
from contextlib import ExitStack, suppress

import pytest
from uvicorn import Config

from service.access.listening import OwnSocket, listening


def accepted(listener: socket.socket) -> int:
    """Connections that wait for this one."""
    listener.settimeout(0.2)
    count = 0
    with suppress(TimeoutError):
        while True:
            listener.accept()[0].close()
            count += 1
    return count


@pytest.mark.skipif(not hasattr(socket, "SO_REUSEPORT"), reason="the system has one socket an address")
def test_every_process_gets_its_part_and_the_first_socket_none() -> None:
    with ExitStack() as stack:
        held = stack.enter_context(listening(Config("app", port=0)))
        address = held.getsockname()
        own = [stack.enter_context(pickle.loads(pickle.dumps(held))) for _ in range(2)]
        for each in own:
            assert each.getsockname() == address
            each.listen(100)
        for _ in range(64):
            stack.enter_context(socket.create_connection(address))
        parts = [accepted(each) for each in own]
        assert sum(parts) == 64
        assert min(parts) > 8  # of 64 by chance, less comes once in 1e9 times


@pytest.mark.skipif(not hasattr(socket, "SO_REUSEPORT"), reason="the system has one socket an address")
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # of the socket that uvicorn leaves
def test_an_address_that_another_program_has_is_refused() -> None:
    with socket.create_server(("127.0.0.1", 0)) as other, pytest.raises(SystemExit):
        listening(Config("app", port=other.getsockname()[1]))


def test_a_system_without_them_shares_one_socket(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delattr(socket, "SO_REUSEPORT", raising=False)
    with listening(Config("app", port=0)) as held:
        assert not isinstance(held, OwnSocket)
