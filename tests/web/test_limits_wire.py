"""Does the protocol carry the limits it was made with, and refuse in words of our own?"""

from typing import Any

from service.web.limits import Limits
from service.web.limits_wire import Wire, wire


class Transport:
    """Remembers what was written."""

    def __init__(self) -> None:
        self.written = b""
        self.closed = False

    def write(self, data: bytes) -> None:
        self.written += data

    def close(self) -> None:
        self.closed = True


def test_two_servers_have_limits_of_their_own() -> None:
    one, other = wire(Limits(head_bytes=2048)), wire(Limits())
    assert issubclass(one, Wire) and issubclass(other, Wire)
    assert (one.limits.head_bytes, other.limits.head_bytes) == (2048, 32_768)
    assert Wire.limits == Limits()


def test_a_refusal_is_a_problem_that_ends_the_connection() -> None:
    connection: Any = object.__new__(wire(Limits()))
    connection.transport = Transport()
    connection.send_400_response("Invalid HTTP request: Mara Aldous")
    head, _, body = connection.transport.written.partition(b"\r\n\r\n")
    assert head.startswith(b"HTTP/1.1 400 Bad Request\r\n")
    assert b"connection: close" in head
    assert f"content-length: {len(body)}".encode() in head
    assert body == b'{"title":"The request cannot be read.","status":400}'
    assert connection.transport.closed
