"""A company's OpenID Connect provider of the tests' own, on 127.0.0.1, in a process of its own: a real one
from the package index, made for tests. It takes any client, and whoever is typed into its page.

It does not look at PKCE; the tests look at what is sent to it.
"""

from __future__ import annotations

import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import parse_qsl, urlsplit

import httpx

# Its own libraries warn of things that are none of ours.
RUN = """
import sys, warnings
warnings.simplefilter("ignore")
import oidc_provider_mock
from werkzeug.serving import make_server
make_server("127.0.0.1", int(sys.argv[1]), oidc_provider_mock.app(), threaded=True).serve_forever()
"""


@contextmanager
def running() -> Iterator[str]:
    """Its issuer, as `http://127.0.0.1:port`."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    process = subprocess.Popen([sys.executable, "-c", RUN, str(port)], **quiet)  # type: ignore[call-overload]
    issuer = f"http://127.0.0.1:{port}"
    try:
        _wait_for(issuer)
        yield issuer
    finally:
        process.terminate()
        process.wait(10)


def _wait_for(issuer: str) -> None:
    for _ in range(300):
        try:
            httpx.get(f"{issuer}/.well-known/openid-configuration", trust_env=False).raise_for_status()
            return
        except httpx.HTTPError:
            time.sleep(0.1)
    raise TimeoutError("the provider did not start")


def known(issuer: str, subject: str, **claims: object) -> None:
    """Somebody the provider knows, and what it says of them."""
    httpx.put(f"{issuer}/users/{subject}", json=claims, trust_env=False).raise_for_status()


def sign_in_there(address: str, subject: str, **changed: str) -> dict[str, str]:
    """What a browser brings back: the fields of the address that the provider sends it to. `changed`: fields
    of the request that were tampered with on the way."""
    asked = dict(parse_qsl(urlsplit(address).query)) | changed
    answer = httpx.post(
        address.partition("?")[0], params=asked, data={"sub": subject}, trust_env=False, timeout=20
    )
    return dict(parse_qsl(urlsplit(answer.headers["location"]).query))
