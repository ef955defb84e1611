"""An S3-compatible server of the tests' own, on 127.0.0.1: the client library's own test server.

No full store is to be had from the registries, so what a real one does under load or after a power cut is not
tried here.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count

_buckets = count()


@contextmanager
def running() -> Iterator[str]:
    """Where it listens, as `http://127.0.0.1:port`."""
    from moto.server import ThreadedMotoServer

    # The client wants to know who it is; the server takes anybody.
    os.environ.setdefault("AWS_ACCESS_KEY_ID", "tests")
    os.environ.setdefault("AWS_SECRET_ACCESS_KEY", "tests")
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    try:
        yield f"http://{host}:{port}"
    finally:
        server.stop()


def a_bucket(endpoint: str) -> str:
    """A new empty bucket; its address as the service takes it."""
    import boto3

    name = f"site-{next(_buckets)}"
    boto3.client("s3", endpoint_url=endpoint, region_name="us-east-1").create_bucket(Bucket=name)
    return f"s3://{name}/laptight?endpoint={endpoint}"
