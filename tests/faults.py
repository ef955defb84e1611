"""A proxy on 127.0.0.1 that spoils what a phone sends and what it is answered, one request after another.

It stands between a real browser and the real service and knows HTTP/1.1 as the two speak it: a request is its
head and as many bytes as its Content-Length says. What is spoiled are the requests of the outbox alone; pages
and files pass as they are.
"""

from __future__ import annotations

import asyncio
import threading
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field

FAULTS = (
    "pass",
    "drop the request",  # it never arrives
    "drop the reply",  # it arrives, and nobody hears
    "double",  # it arrives twice, one after the other; the second answer is heard
    "double at once",  # it arrives twice at the same time
    "reorder",  # it is held back, and arrives after the next one
    "cut the request",  # half of it arrives
    "cut the reply",  # half of the answer is heard
    "502",  # somebody in between answers with a page of their own
    "502 after",  # it arrives, and somebody in between answers
    "restart",  # the service is stopped and started while it is on its way
    "sign out",  # the sign-in has ended by the time it arrives
)
PAGE_OF_A_GATEWAY = (
    b"HTTP/1.1 502 Bad Gateway\r\nContent-Type: text/html\r\nContent-Length: 25\r\n"
    b"Connection: close\r\n\r\n<h1>502 Bad Gateway</h1>\r\n"
)


@dataclass
class Proxy:
    """`coming`: what happens to the next requests of the outbox, in order; when it is empty they pass.
    `between`: what is done for "restart" and "sign out", outside the loop. `seen`: what happened."""

    upstream: tuple[str, int]
    address: str = ""
    coming: deque[str] = field(default_factory=deque)
    between: dict[str, Callable[[], None]] = field(default_factory=dict)
    seen: list[str] = field(default_factory=list)
    held: list[bytes] = field(default_factory=list)

    async def serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        with suppress(ConnectionError, asyncio.IncompleteReadError):
            while request := await _message(reader):
                answer = await self._answer(request)
                if answer is None:
                    break
                writer.write(answer)
                await writer.drain()
                if b"connection: close" in _head(answer).lower():
                    break
        writer.close()

    async def _answer(self, request: bytes) -> bytes | None:
        """What the phone hears; None: the connection ends without a word."""
        if b"\r\nlaptight-outbox:" not in _head(request).lower():
            return await self._forward(request)
        fault = self.coming.popleft() if self.coming else "pass"
        self.seen.append(fault)
        if fault == "reorder":
            self.held.append(request)
            return None
        answer = await self._spoiled(fault, request)
        for late in self.held[:]:
            self.held.remove(late)
            await self._forward(late)
        return answer

    async def _spoiled(self, fault: str, request: bytes) -> bytes | None:
        if fault in self.between:
            await asyncio.get_running_loop().run_in_executor(None, self.between[fault])
        match fault:
            case "drop the request":
                return None
            case "502":
                return PAGE_OF_A_GATEWAY
            case "cut the request":
                await self._send(request[: _end_of_head(request) + _length(request) // 2])
                return None
            case "double at once":
                return (await asyncio.gather(self._forward(request), self._forward(request)))[1]
            case "double":
                await self._forward(request)
        answer = await self._forward(request)
        if fault in ("drop the reply", "restart"):
            return None
        if fault == "502 after":
            return PAGE_OF_A_GATEWAY
        if fault == "cut the reply" and answer is not None:
            return _closing(answer)[: -max(1, _length(answer) // 2)]
        return answer

    async def _forward(self, request: bytes) -> bytes | None:
        return await self._send(request, listen=True)

    async def _send(self, request: bytes, *, listen: bool = False) -> bytes | None:
        """One request over a connection of its own."""
        for _ in range(50):
            try:
                reader, writer = await asyncio.open_connection(*self.upstream)
                break
            except ConnectionError:  # the service is just starting
                await asyncio.sleep(0.05)
        else:
            return None
        try:
            writer.write(_closing(request))
            await writer.drain()
            if not listen:
                return None
            answer = await asyncio.wait_for(_message(reader, to_end=request[:5] == b"HEAD "), 30)
            return answer or None
        except (ConnectionError, asyncio.IncompleteReadError, TimeoutError):
            return None
        finally:
            writer.close()


def _head(message: bytes) -> bytes:
    return message[: _end_of_head(message)]


def _end_of_head(message: bytes) -> int:
    return message.index(b"\r\n\r\n") + 4


def _field(message: bytes, name: bytes) -> bytes | None:
    for line in _head(message).split(b"\r\n")[1:]:
        key, _, value = line.partition(b":")
        if key.strip().lower() == name:
            return value.strip()
    return None


def _length(message: bytes) -> int:
    return len(message) - _end_of_head(message)


def _closing(message: bytes) -> bytes:
    """The message with `Connection: close`, so that its end is the end of what is sent."""
    end = _end_of_head(message)
    lines = [
        line for line in message[: end - 4].split(b"\r\n") if not line.lower().startswith(b"connection:")
    ]
    return b"\r\n".join([*lines, b"Connection: close"]) + b"\r\n\r\n" + message[end:]


async def _message(reader: asyncio.StreamReader, *, to_end: bool = False) -> bytes:
    """One whole message, or nothing where the other end has closed. `to_end`: its head alone."""
    try:
        head = await reader.readuntil(b"\r\n\r\n")
    except asyncio.IncompleteReadError:
        return b""
    if to_end:
        return head
    length = _field(head, b"content-length")
    if length is not None:
        return head + await reader.readexactly(int(length))
    if head.startswith(b"HTTP/") and b" 304 " not in head[:16] and b" 204 " not in head[:16]:
        return head + await reader.read(-1)  # chunked, or to the end: it is passed on as it came
    return head


@contextmanager
def between(upstream: str) -> Iterator[Proxy]:
    """A proxy before the service at this address; its own is `proxy.address`. It ends with the block."""
    host, port = upstream.removeprefix("http://").split(":")
    proxy, loop, ready = Proxy((host, int(port))), asyncio.new_event_loop(), threading.Event()

    async def run() -> asyncio.Server:
        server = await asyncio.start_server(proxy.serve, "127.0.0.1", 0, limit=2**20)
        proxy.address = f"http://127.0.0.1:{server.sockets[0].getsockname()[1]}"
        ready.set()
        return server

    def live() -> None:
        asyncio.set_event_loop(loop)
        server = loop.run_until_complete(run())
        loop.run_forever()
        server.close()
        for task in asyncio.all_tasks(loop):
            task.cancel()
        loop.run_until_complete(asyncio.sleep(0))
        loop.close()

    thread = threading.Thread(target=live, daemon=True)
    thread.start()
    ready.wait(10)
    try:
        yield proxy
    finally:
        loop.call_soon_threadsafe(loop.stop)
        thread.join(10)
