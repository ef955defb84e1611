"""A timestamp authority for tests: OpenSSL answers on 127.0.0.1 with certificates made for the occasion."""

from __future__ import annotations

import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

CONFIG = """
[tsa]
default_tsa = here
[here]
dir = {folder}
serial = {folder}/serial
signer_cert = {folder}/tsa.pem
signer_key = {folder}/tsa.key
certs = {folder}/root.pem
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256
ess_cert_id_chain = no
ess_cert_id_alg = sha256
"""
EXTENSIONS = "extendedKeyUsage=critical,timeStamping\nkeyUsage=critical,digitalSignature\n"


def openssl(*arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["openssl", *arguments], cwd=folder, capture_output=True, text=True, check=False, timeout=30
    )


def _done(*arguments: str, folder: Path) -> None:
    made = openssl(*arguments, folder=folder)
    assert made.returncode == 0, made.stderr


def make_certificates(folder: Path, days: int = 2) -> Path:
    """A root, and a signer of timestamps under it that is good for a few days; the PEM of the root."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "tsa.cnf").write_text(CONFIG.format(folder=folder))
    (folder / "serial").write_text("01\n")
    (folder / "tsa.ext").write_text(EXTENSIONS)
    key = ("-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes")
    root = ("-keyout", "root.key", "-out", "root.pem", "-subj", "/CN=Invented root", "-days", "36500")
    _done("req", "-x509", *key, *root, "-addext", "basicConstraints=critical,CA:TRUE", folder=folder)
    _done(
        "req", *key, "-keyout", "tsa.key", "-out", "tsa.csr", "-subj", "/CN=Invented authority", folder=folder
    )
    sign = ("-CA", "root.pem", "-CAkey", "root.key", "-CAcreateserial", "-extfile", "tsa.ext")
    _done("x509", "-req", "-in", "tsa.csr", *sign, "-days", str(days), "-out", "tsa.pem", folder=folder)
    return folder / "root.pem"


def answer(folder: Path, request: bytes) -> bytes:
    """The authority's reply to one request, both DER."""
    (folder / "request.tsq").write_bytes(request)
    _done(
        "ts", "-reply", "-config", "tsa.cnf", "-queryfile", "request.tsq", "-out", "reply.tsr", folder=folder
    )
    return (folder / "reply.tsr").read_bytes()


@dataclass
class Running:
    """`says` is what it answers next instead of a stamp: bytes, or a status."""

    url: str
    chain: bytes
    folder: Path
    asked: list[bytes] = field(default_factory=list)
    says: bytes | int | None = None


@contextmanager
def running(folder: Path) -> Iterator[Running]:
    """The authority, until the block ends."""
    root = make_certificates(folder)
    told = Running("", root.read_bytes(), folder)

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            request = self.rfile.read(int(self.headers["Content-Length"]))
            told.asked.append(request)
            if isinstance(told.says, int):
                self.send_error(told.says)
                return
            body = told.says if told.says is not None else answer(folder, request)
            self.send_response(200)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: object) -> None:
            """Quiet."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    told.url = f"http://127.0.0.1:{server.server_port}/"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield told
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
