"""Requests as OpenTelemetry spans: what a collector gets, what never does, and that nobody waits.

Names of attributes are those of OpenTelemetry's semantic conventions for HTTP and databases
(stable since 1.23 and 1.33); what a collector receives is read by the protocol's own messages (OTLP,
ExportTraceServiceRequest).
"""

from __future__ import annotations

import gzip
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi import FastAPI
from opentelemetry.proto.collector.trace.v1.trace_service_pb2 import ExportTraceServiceRequest
from opentelemetry.proto.trace.v1.trace_pb2 import Span, Status
from starlette.requests import Request
from starlette.responses import Response

from service.actions.entrance import accounts
from service.actions.telling.sending_told import tick
from service.settings import Settings
from service.web.serving.traces import TIMEOUT_S, Traces
from tests.cast import Cast
from tests.in_process import ADDRESS, InProcess, browser, quick_app
from tests.whole.test_watching import free_port

ROOT = Path(__file__).parents[2]


@dataclass
class Collector:
    """What came, and where to."""

    address: str = ""
    paths: list[str] = field(default_factory=list)
    sent: list[bytes] = field(default_factory=list)

    def spans(self) -> list[Span]:
        found = [ExportTraceServiceRequest.FromString(each) for each in self.sent]
        return [
            span
            for message in found
            for resource in message.resource_spans
            for scope in resource.scope_spans
            for span in scope.spans
        ]

    def named(self, name: str) -> Span:
        (found,) = (span for span in self.spans() if span.name == name)
        return found


def told(span: Span) -> dict[str, Any]:
    """Its attributes, without the request's number."""
    found = {one.key: one.value.string_value or one.value.int_value for one in span.attributes}
    found.pop("laptight.request", None)
    return found


@pytest.fixture
def collector() -> Iterator[Collector]:
    came = Collector()

    class Takes(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers["Content-Length"]))
            came.paths.append(self.path)
            came.sent.append(gzip.decompress(body) if self.headers["Content-Encoding"] == "gzip" else body)
            self.send_response(200)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Takes)
    came.address = f"http://127.0.0.1:{server.server_address[1]}"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield came
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture
def traced(data: Path, cast: Cast, collector: Collector) -> Iterator[FastAPI]:
    app = quick_app(Settings.read(data, environ={"LAPTIGHT_TRACES": collector.address}))
    yield app
    app.state.traces.end()
    app.state.desk.database.close()


@pytest.fixture
def program(traced: FastAPI, cast: Cast) -> httpx.Client:
    token, _ = accounts.open_sign_in(traced.state.desk.fresh(), cast.manager.id, accounts.PROGRAM)
    headers = {"Authorization": f"Bearer {token}"}
    return httpx.Client(transport=InProcess(traced), base_url=ADDRESS, headers=headers)


def test_nothing_of_it_is_loaded_where_no_collector_is_named() -> None:
    words = "import sys, service.__main__, service.app; print('opentelemetry.sdk' in sys.modules)"
    said = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True, cwd=ROOT)
    assert said.stdout == "False\n"
    assert Settings.read(Path("x"), environ={}).traces == ""


NATIVE = """
import sys
from pathlib import Path
from starlette.testclient import TestClient
from service.app import make_app
from service.settings import Settings
from opentelemetry import trace
with TestClient(make_app(Settings.read(Path(sys.argv[1])))) as client:
    client.get("/join/canary-secret")
print(type(trace.get_tracer_provider()).__name__)
"""


ASKED = {"FASTAPI_OTEL_AUTO_CONFIGURE": "true"}


def test_the_frameworks_own_traces_stay_off_whatever_the_environment_says(
    tmp_path: Path, collector: Collector
) -> None:
    """They would tell paths. The environment alone can start them in an app that does not say no."""
    said = subprocess.run(
        [sys.executable, "-c", NATIVE, str(tmp_path)],
        cwd=ROOT,
        env={**os.environ, "OTEL_EXPORTER_OTLP_ENDPOINT": collector.address, **ASKED},
        capture_output=True,
        text=True,
        check=True,
    )
    assert said.stdout == "ProxyTracerProvider\n"
    assert collector.sent == []


def test_a_request_is_a_span_by_its_route_and_holds_nobodys_name_id_or_secret(
    traced: FastAPI, cast: Cast, collector: Collector
) -> None:
    secret = "canary-7f3a-secret-of-a-link"
    with browser(traced) as phone:
        answers = [
            phone.get(f"/join/{secret}?note={secret}"),
            phone.post("/sign-in", data={"email": cast.lead.email, "password": secret}),
            phone.get(f"/projects/{cast.project_id}/office"),
            phone.get(f"/no/such/{secret}"),
        ]
    traced.state.traces.end()
    assert set(collector.paths) == {"/v1/traces"}
    asked = [span for span in collector.spans() if span.kind == Span.SPAN_KIND_SERVER]
    assert [(span.name, told(span)) for span in asked] == [
        (
            f"{method} {route}".strip(),
            {"http.request.method": method, "http.response.status_code": status}
            | ({"http.route": route} if route else {}),
        )
        for method, route, status in (
            ("GET", "/join/{token}", 404),
            ("POST", "/sign-in", 422),
            ("GET", "/projects/{project_id}/office", 303),
            ("GET", "", 404),
        )
    ]
    by_number = {one.value.string_value for span in asked for one in span.attributes if "laptight" in one.key}
    assert by_number == {answer.headers["x-request-id"] for answer in answers}
    everything = b"\n".join(collector.sent)
    assert b"laptight" in everything  # the service's name
    for canary in (secret, cast.lead.email, cast.lead.name, cast.lead.id, cast.project_id):
        assert canary.encode() not in everything


def test_what_it_read_and_wrote_is_within_it(
    traced: FastAPI, program: httpx.Client, cast: Cast, collector: Collector
) -> None:
    body = {"name": "Canary slab", "units": "us", "time_zone": "UTC"}
    project = program.post("/api/v1/projects", json=body).json()["id"]
    assert program.get(f"/api/v1/projects/{project}").status_code == 200
    traced.state.traces.end()
    for asked, what in (
        ("POST /api/v1/projects", "writing"),
        ("GET /api/v1/projects/{project_id}", "reading"),
    ):
        span = collector.named(asked)
        inner = [each for each in collector.spans() if each.parent_span_id == span.span_id]
        assert {each.name for each in inner} == {what}
        for each in inner:
            assert each.trace_id == span.trace_id and each.kind == Span.SPAN_KIND_CLIENT
            assert span.start_time_unix_nano <= each.start_time_unix_nano
            assert each.start_time_unix_nano < each.end_time_unix_nano <= span.end_time_unix_nano
            assert told(each) == {"db.system.name": "sqlite"}
    assert b"Canary slab" not in b"\n".join(collector.sent)


# The example of W3C Trace Context (Recommendation of 23 November 2021), section 3.2.
TRACE, PARENT = "4bf92f3577b34da6a3ce929d0e0e4736", "00f067aa0ba902b7"


@pytest.mark.parametrize("flags", ["01", "00"])
def test_a_request_of_a_traced_one_is_its_child_whether_or_not_it_says_to_be_kept(
    traced: FastAPI, collector: Collector, flags: str
) -> None:
    with browser(traced) as client:
        client.get("/health", headers={"traceparent": f"00-{TRACE}-{PARENT}-{flags}"})
    traced.state.traces.end()
    span = collector.named("GET /health")
    assert (span.trace_id.hex(), span.parent_span_id.hex()) == (TRACE, PARENT)


@pytest.mark.parametrize("came", ["", "00-nothing", f"00-{'0' * 32}-{PARENT}-01", "x" * 5_000])
def test_one_that_names_no_trace_begins_its_own(traced: FastAPI, collector: Collector, came: str) -> None:
    """An id of zeros is none (the same, section 3.2.2.3)."""
    with browser(traced) as client:
        assert client.get("/health", headers={"traceparent": came}).status_code == 200
    traced.state.traces.end()
    span = collector.named("GET /health")
    assert span.parent_span_id == b"" and len(span.trace_id) == 16


def test_what_broke_is_an_error_without_its_words(traced: FastAPI, collector: Collector) -> None:
    def breaks(request: Request) -> Response:
        with request.app.state.desk.database.reading():
            raise RuntimeError("canary words of a fault")

    traced.add_route("/breaks", breaks)
    with browser(traced, raises=False) as client:
        assert client.get("/breaks").status_code == 500
    traced.state.traces.end()
    (span,) = (each for each in collector.spans() if each.kind == Span.SPAN_KIND_SERVER)
    assert span.status.code == Status.STATUS_CODE_ERROR
    assert told(span)["error.type"] == "500"
    assert b"canary words" not in b"\n".join(collector.sent)


def test_a_look_for_turns_is_nobodys_request_and_no_span(traced: FastAPI, collector: Collector) -> None:
    tick(traced.state.desk.fresh(), traced.state.outside, lambda: True)
    with browser(traced) as client:
        client.get("/health")
    traced.state.traces.end()
    assert [span.name for span in collector.spans()] == ["GET /health"]


def test_nobody_waits_for_a_collector_that_is_gone_or_does_not_answer(data: Path, cast: Cast) -> None:
    """The bound: the exporter's own wait for its one batch, and more for a machine that is busy."""
    with socket.create_server(("127.0.0.1", 0)) as silent:  # takes a connection and says nothing
        for port in (silent.getsockname()[1], free_port()):
            app = quick_app(Settings.read(data, environ={"LAPTIGHT_TRACES": f"http://127.0.0.1:{port}"}))
            with browser(app) as client:
                assert [client.get("/health").status_code for _ in range(50)] == [200] * 50
            ended = threading.Thread(target=app.state.traces.end, daemon=True)
            ended.start()
            ended.join(TIMEOUT_S * 2 + 25)
            assert not ended.is_alive()
            app.state.desk.database.close()


@pytest.mark.parametrize("address", ["127.0.0.1:4318", "ftp://127.0.0.1", "http://", "here"])
def test_an_address_that_is_none_is_refused_at_the_start(address: str) -> None:
    with pytest.raises(ValueError, match="LAPTIGHT_TRACES"):
        Traces(address)


def test_what_was_not_sent_yet_is_sent_when_the_service_is_told_to_stop(
    tmp_path: Path, collector: Collector
) -> None:
    port = free_port()
    environ = {key: value for key, value in os.environ.items() if not key.startswith("LAPTIGHT_")}
    serving = subprocess.Popen(
        [sys.executable, "-m", "service", "serve", "--data", str(tmp_path / "data"), "--port", str(port)],
        cwd=ROOT,
        env={**environ, "LAPTIGHT_TRACES": collector.address, "OTEL_BSP_SCHEDULE_DELAY": "600000"},
        stdout=subprocess.DEVNULL,
    )
    try:
        until_answered(lambda: httpx.get(f"http://127.0.0.1:{port}/health"))
        assert not collector.sent
        serving.send_signal(signal.SIGTERM)
        assert serving.wait(60) == 0
    finally:
        serving.kill()
        serving.wait()
    assert "GET /health" in {span.name for span in collector.spans()}


def until_answered(ask: Callable[[], httpx.Response]) -> None:
    """Return once it is answered with 200; within a minute."""
    for _ in range(600):
        try:
            assert ask().status_code == 200
            return
        except httpx.TransportError:
            time.sleep(0.1)
    raise AssertionError("the service did not start")
