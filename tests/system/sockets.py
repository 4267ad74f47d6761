"""How does a test speak to a server byte by byte, as slowly as it likes?"""

import asyncio
import time
from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager, suppress
from urllib.parse import urlsplit

PATIENCE_SECONDS = 15.0


class Line:
    """One connection. ``heard`` gives all that came until the server closed it."""

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self.reader = reader
        self.writer = writer

    async def say(self, data: bytes) -> None:
        self.writer.write(data)
        await self.writer.drain()

    async def heard(self) -> bytes:
        """Everything until the server hangs up."""
        heard = b""
        try:
            async with asyncio.timeout(PATIENCE_SECONDS):
                while part := await self.reader.read(65_536):
                    heard += part
        except ConnectionError:
            pass
        return heard

    async def answered(self) -> bytes:
        """The head of the next answer."""
        return await asyncio.wait_for(self.reader.readuntil(b"\r\n\r\n"), PATIENCE_SECONDS)


@asynccontextmanager
async def line_to(base: str) -> AsyncIterator[Line]:
    address = urlsplit(base)
    reader, writer = await asyncio.open_connection(address.hostname, address.port)
    try:
        yield Line(reader, writer)
    finally:
        writer.close()
        with suppress(ConnectionError):
            await writer.wait_closed()


async def dribble(line: Line, parts: Iterable[bytes], pause: float) -> tuple[bytes, float]:
    """Sends part by part until the server hangs up; what it said, and after how many seconds."""
    began = time.monotonic()
    listening = asyncio.create_task(line.heard())
    try:
        for part in parts:
            if listening.done():
                break
            await line.say(part)
            await asyncio.sleep(pause)
    except ConnectionError:
        pass
    return await listening, time.monotonic() - began
