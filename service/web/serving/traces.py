"""Requests as OpenTelemetry spans, for a collector of those who run the service: off unless one is named.

A span says the route as the service spells it, how it was answered, how long it took, and how long of that it
read and wrote. No path, id, name, address of a person, query or words of an exception are in it: they are not
looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from functools import partial
from urllib.parse import urlsplit

from opentelemetry import trace
from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter
from opentelemetry.sdk.resources import Resource
from opentelemetry.sdk.trace import TracerProvider
from opentelemetry.sdk.trace.export import BatchSpanProcessor
from opentelemetry.sdk.trace.sampling import ALWAYS_ON
from opentelemetry.trace import Span, SpanKind, Status, StatusCode
from opentelemetry.trace.propagation.tracecontext import TraceContextTextMapPropagator
from starlette.datastructures import Headers
from starlette.types import Scope

from service.web.serving.watching import NO_ROUTE, Passed, Tell

# A collector that hangs holds up the end of the service this long for each batch, and never a request.
TIMEOUT_S = 2.0
# OpenTelemetry's semantic conventions for HTTP: another method is `_OTHER`.
METHODS = frozenset(("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "CONNECT"))
_CONTEXT = TraceContextTextMapPropagator()


class Traces:
    """Spans of one process, sent in batches to `address` by OTLP over HTTP; `/v1/traces` is put behind it.

    ValueError for an address that is none. Headers that a collector asks for are read by its own client from
    OTEL_EXPORTER_OTLP_HEADERS.
    """

    def __init__(self, address: str) -> None:
        found = urlsplit(address)
        if found.scheme not in ("http", "https") or not found.hostname:
            raise ValueError("LAPTIGHT_TRACES is an address like http://127.0.0.1:4318")
        # Whoever sends a request says whose part it is, and not whether it is traced.
        named = Resource.create({"service.name": "laptight"})
        self.provider = TracerProvider(ALWAYS_ON, named, shutdown_on_exit=False)  # `end` is the one way
        exporter = OTLPSpanExporter(f"{address.rstrip('/')}/v1/traces", timeout=TIMEOUT_S)
        self.provider.add_span_processor(BatchSpanProcessor(exporter))
        self.tracer = self.provider.get_tracer("laptight")

    @contextmanager
    def follow(self, scope: Scope) -> Iterator[Tell]:
        """A request's span, the child of what its `traceparent` names (W3C Trace Context). What is yielded is
        to be told once how the request passed."""
        came = Headers(scope=scope).get("traceparent", "")
        parent = _CONTEXT.extract({"traceparent": came})
        span = self.tracer.start_span(scope["method"], parent, SpanKind.SERVER)
        with trace.use_span(span, end_on_exit=True, record_exception=False, set_status_on_exception=False):
            yield partial(_say, span)

    def at_the_database(self, system: str) -> Callable[[str], AbstractContextManager[object]]:
        """What follows a transaction of a request, `reading` or `writing`. `system`: as the conventions for
        databases call it, `sqlite` or `postgresql`."""

        def followed(what: str) -> AbstractContextManager[object]:
            if not trace.get_current_span().is_recording():  # nobody's request: a look for turns
                return nullcontext()
            return self.tracer.start_as_current_span(
                what,
                kind=SpanKind.CLIENT,
                attributes={"db.system.name": system},
                record_exception=False,
                set_status_on_exception=False,
            )

        return followed

    def end(self) -> None:
        """Send what waits, and no more after it."""
        self.provider.shutdown()


def _say(span: Span, passed: Passed) -> None:
    method = passed.method if passed.method in METHODS else "_OTHER"
    span.set_attribute("http.request.method", method)
    span.set_attribute("laptight.request", passed.number)  # as the log and the page of a fault have it
    span.update_name(method)
    if passed.route != NO_ROUTE:
        span.set_attribute("http.route", passed.route)
        span.update_name(f"{method} {passed.route}")
    if passed.status:  # 0: the sender went away first
        span.set_attribute("http.response.status_code", passed.status)
    if passed.status >= 500:
        span.set_attribute("error.type", str(passed.status))
        span.set_status(Status(StatusCode.ERROR))
