"""An S3-compatible object store, which several machines keep things in together."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

TRIES, CONNECT_S, READ_S = 3, 5, 60
# How many requests may be under way at once: one per thread of the server's pool.
CONNECTIONS = 40
_GONE = {"404", "NoSuchKey", "NotFound"}


class StoreAway(RuntimeError):
    """The object store gives no answer, or refuses: an outage, never a missing file."""


class Store:
    """A bucket, and what its objects' names begin with. Bodies are files: none is held in memory whole."""

    def __init__(self, url: str) -> None:
        """`s3://bucket/prefix?endpoint=https://host:port&region=name`; the endpoint where it is not the
        client's own. Who we are is told to the client in its own way (its variables or its file). ValueError
        for another address."""
        parts = urlsplit(url)
        if parts.scheme != "s3" or not parts.netloc:
            raise ValueError("LAPTIGHT_BLOBS is an address like s3://bucket/prefix?endpoint=https://host")
        asked = {name: values[-1] for name, values in parse_qs(parts.query).items()}
        prefix = parts.path.strip("/")
        self.bucket, self.prefix = parts.netloc, f"{prefix}/" if prefix else ""
        self._client = _client(asked.get("endpoint"), asked.get("region"))

    def fetch(self, name: str, target: Path) -> None:
        """The object into a file. FileNotFoundError where there is none."""
        with _told(name):
            self._client.download_file(self.bucket, self.prefix + name, str(target))

    def keep(self, name: str, source: Path) -> None:
        """A file's bytes under this name, whole before anyone can read them."""
        with _told(name):
            self._client.upload_file(str(source), self.bucket, self.prefix + name)

    def size(self, name: str) -> int | None:
        """How many bytes an object has; None where there is none."""
        try:
            with _told(name):
                return int(
                    self._client.head_object(Bucket=self.bucket, Key=self.prefix + name)["ContentLength"]
                )
        except FileNotFoundError:
            return None

    def drop(self, name: str) -> None:
        with _told(name):
            self._client.delete_object(Bucket=self.bucket, Key=self.prefix + name)

    def names(self, start: str) -> Iterator[str]:
        """The names that begin so, without the store's own prefix."""
        with _told(start):
            pages = self._client.get_paginator("list_objects_v2").paginate(
                Bucket=self.bucket, Prefix=self.prefix + start
            )
            for page in pages:
                yield from (row["Key"].removeprefix(self.prefix) for row in page.get("Contents", ()))


@contextmanager
def _told(name: str) -> Iterator[None]:
    from boto3.exceptions import Boto3Error
    from botocore.exceptions import BotoCoreError, ClientError

    try:
        yield
    except ClientError as bad:
        if str(bad.response.get("Error", {}).get("Code")) in _GONE:
            raise FileNotFoundError(name) from None
        raise StoreAway(f"the object store refused {name}") from bad
    except (BotoCoreError, Boto3Error) as bad:
        raise StoreAway(f"the object store gave no answer for {name}") from bad


def _client(endpoint: str | None, region: str | None) -> Any:
    import boto3
    from botocore.config import Config

    config = Config(
        connect_timeout=CONNECT_S,
        read_timeout=READ_S,
        retries={"max_attempts": TRIES, "mode": "standard"},
        max_pool_connections=CONNECTIONS,
        # Newer checksums by default are more than many compatible stores know.
        request_checksum_calculation="when_required",
        response_checksum_validation="when_required",
    )
    return boto3.client("s3", endpoint_url=endpoint, region_name=region or "us-east-1", config=config)
