"""The sockets on which several processes of one server listen."""

from __future__ import annotations

import socket
from typing import Any

from uvicorn import Config


class OwnSocket(socket.socket):
    """A socket that becomes another one at the same address in the process that it is sent to.

    Processes that share a socket take connections as they wake up, one of them often all that come at once; of sockets
    of their own the system gives each its part. The first one only holds the address: it does not listen.
    """

    def __reduce__(self) -> tuple[Any, ...]:
        return bound, (self.family, self.getsockname())


def bound(family: socket.AddressFamily, address: Any) -> OwnSocket:
    """A socket bound to an address that others of this user are bound to as well; OSError where it is taken."""
    found = OwnSocket(family)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEPORT, 1)
    found.bind(address)
    return found


def listening(config: Config) -> socket.socket:
    """The socket of a server of several processes, where the system can each process's own."""
    first = config.bind_socket()  # tells the address, and ends the program where another one has it
    if not hasattr(socket, "SO_REUSEPORT") or first.family not in (socket.AF_INET, socket.AF_INET6):
        return first
    family, address = first.family, first.getsockname()
    first.close()
    return bound(family, address)
