"""The files under /static: named by a hash of what they hold, kept compressed, cached for ever."""

from __future__ import annotations

import gzip
import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from starlette.datastructures import Headers
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from service.web.serving.gathered import as_one_module, joined

FOR_EVER = "public, max-age=31536000, immutable"
ASK_AGAIN = "no-cache"
KINDS = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".woff2": "font/woff2",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".webp": "image/webp",
    ".webmanifest": "application/manifest+json",
    ".md": "text/plain; charset=utf-8",
    "": "text/plain; charset=utf-8",
}
STATIC_PREFIX = "/static"
MOST_TOGETHER, MOST_KEPT = 16, 200  # files as one; such files at hand
PRESSED_ALREADY = {".woff2", ".png", ".webp"}
# What one script takes from another beside it: `from "./other.js"`, `import "./other.js"`.
_TAKEN = re.compile(rb"""(?<=["'])\./([\w.-]+\.js)(?=["'])""")


@dataclass(frozen=True)
class StaticFile:
    """One file as it is served: its bytes, the same compressed, and the first 12 digits of its SHA-256."""

    body: bytes
    zipped: bytes | None
    kind: str
    version: str

    @classmethod
    def of(cls, suffix: str, body: bytes) -> StaticFile:
        zipped = None if suffix in PRESSED_ALREADY else gzip.compress(body, 9, mtime=0)
        version = hashlib.sha256(body).hexdigest()[:12]
        return cls(body, zipped, KINDS.get(suffix, "application/octet-stream"), version)


class StaticFiles:
    """Every file below a folder, read once at start: an ASGI app to mount at `/static`, and `url(name)`.

    A changed file gets a new address, so an answer may be kept for ever; an address without the right version
    is answered with the same bytes and must be asked for again next time. A script that takes from another
    names it by its hashed address, so that a page never runs the scripts of two versions together.
    """

    def __init__(
        self, folder: Path, prefix: str = STATIC_PREFIX, more: Callable[[], dict[str, bytes]] = dict
    ) -> None:
        """`more`: files that lie in no folder, by name."""
        self.folder, self.prefix, self.more = folder, prefix, more
        self._kept: dict[str, StaticFile] = {}

    @cached_property
    def files(self) -> dict[str, StaticFile]:
        paths = (path for path in sorted(self.folder.rglob("*")) if path.is_file())
        read = {path.relative_to(self.folder).as_posix(): path.read_bytes() for path in paths}
        read |= self.more()
        made: dict[str, StaticFile] = {}
        for name in read:
            self._take_in(name, read, made)
        return {name: made[name] for name in read}

    def _take_in(self, name: str, read: dict[str, bytes], made: dict[str, StaticFile]) -> StaticFile:
        """One file, after those it takes from. A ring of scripts that take from one another never ends."""
        if name not in made:
            suffix, body = Path(name).suffix, read[name]
            if suffix == ".js" and not name.startswith("vendor/"):

                def hashed(found: re.Match[bytes]) -> bytes:
                    other = found[1].decode()
                    if other not in read:
                        return found[0]
                    return f"./{other}?v={self._take_in(other, read, made).version}".encode()

                body = _TAKEN.sub(hashed, body)
            made[name] = StaticFile.of(suffix, body)
        return made[name]

    def together(self, names: tuple[str, ...], modules: bool) -> str:
        """Address of several files of one kind as one (`gathered`)."""
        kind = "modules" if modules else ""
        return self._address(f"{kind}+{'+'.join(names)}")

    def _address(self, name: str) -> str:
        file = self._gathered(name)
        assert file is not None, f"{name} cannot be gathered"
        return f"{self.prefix}/{name}?v={file.version}"

    def _gathered(self, name: str) -> StaticFile | None:
        """Files named together, made once; None where one of them is not here. Anybody may ask for any of
        them together, so that no more are kept than pages ask for."""
        if name not in self._kept:
            kind, *names = name.split("+")
            suffix = Path(names[-1]).suffix if names else ""
            known = all(one in self.files and Path(one).suffix == suffix for one in names)
            if kind not in ("", "modules") or not known or not 0 < len(names) <= MOST_TOGETHER:
                return None
            if len(self._kept) >= MOST_KEPT:
                self._kept.clear()
            together = as_one_module if kind else joined
            self._kept[name] = StaticFile.of(suffix, together(tuple(names), self._text).encode())
        return self._kept[name]

    def _text(self, name: str) -> str:
        return self.files[name].body.decode()

    def url(self, name: str) -> str:
        """Address of a file; `KeyError` when there is none. Vendored paths carry their version already."""
        version = self.files[name].version
        return f"{self.prefix}/{name}" if name.startswith("vendor/") else f"{self.prefix}/{name}?v={version}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        request = Request(scope)
        await self._answer(request)(scope, receive, send)

    def _answer(self, request: Request) -> Response:
        name = request.url.path.removeprefix(request.scope.get("root_path", "")).removeprefix(self.prefix)
        name = name.lstrip("/")
        file = self._gathered(name) if "+" in name else self.files.get(name)
        if file is None:
            return Response("There is nothing here.\n", 404, media_type="text/plain")
        if request.method not in {"GET", "HEAD"}:
            return Response(status_code=405, headers={"Allow": "GET, HEAD"})
        for_ever = name.startswith("vendor/") or request.query_params.get("v") == file.version
        return self._send(file, request.headers, for_ever)

    def _send(self, file: StaticFile, asked: Headers, for_ever: bool) -> Response:
        headers = {
            "ETag": f'"{file.version}"',
            "Cache-Control": FOR_EVER if for_ever else ASK_AGAIN,
            "X-Content-Type-Options": "nosniff",
            "Vary": "Accept-Encoding",
        }
        if asked.get("if-none-match") == headers["ETag"]:
            return Response(status_code=304, headers=headers)
        body = file.body
        if file.zipped is not None and "gzip" in asked.get("accept-encoding", ""):
            body, headers["Content-Encoding"] = file.zipped, "gzip"
        return Response(body, headers={**headers, "Content-Type": file.kind})
