"""Counts for those who run the service, in Prometheus's text format, on an address of their own.

They are never served beside the pages. Several workers count together: each writes into one folder of files,
which goes with the process that started them.
"""

from __future__ import annotations

import atexit
import os
import shutil
import tempfile
from collections.abc import Callable

from service.web.serving.watching import Passed

FOLDER = "PROMETHEUS_MULTIPROC_DIR"  # the client library's own name
# A page is to come within 50 ms; a record may take half a minute.
SECONDS = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30)


def open_at(address: str) -> None:
    """Serve the counts of this process and its workers at `host:port`. ValueError for another address."""
    host, _, port = address.rpartition(":")
    if not host or not port.isdigit():
        raise ValueError("LAPTIGHT_METRICS is an address like 127.0.0.1:9200")
    folder = tempfile.mkdtemp(prefix="laptight-metrics-")
    os.environ[FOLDER] = folder
    mine = os.getpid()
    atexit.register(lambda: shutil.rmtree(folder, ignore_errors=True) if os.getpid() == mine else None)
    from prometheus_client import CollectorRegistry, start_http_server
    from prometheus_client.multiprocess import MultiProcessCollector

    registry = CollectorRegistry()
    MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
    start_http_server(int(port), host, registry)


def counter() -> Callable[[Passed], None]:
    """What counts a request that passed, in a worker of a service whose counts are open."""
    from prometheus_client import CollectorRegistry, Histogram

    told, by = "Requests answered, by route as the service spells it", ("method", "route", "status")
    taken = Histogram("laptight_request_seconds", told, by, buckets=SECONDS, registry=CollectorRegistry())

    def count(passed: Passed) -> None:
        taken.labels(passed.method, passed.route, f"{passed.status // 100}xx").observe(passed.seconds)

    return count
