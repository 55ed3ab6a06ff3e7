"""Traces: only where the environment asks, one span a request, and neither keys nor numbers of a query in it."""

from __future__ import annotations

import asyncio
from typing import Any

import httpx
import pytest

from service.access.addresses import AddressFilter
from service.http.app import create_app
from service.http.settings import Settings
from service.http.telemetry import tracing
from service.http.telemetry.tracing import asked_for, instrument, trace

ENDPOINT = {"OTEL_EXPORTER_OTLP_ENDPOINT": "http://127.0.0.1:9"}


@pytest.fixture(autouse=True)
def unset(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("ENDPOINT", "TRACES_ENDPOINT"):
        monkeypatch.delenv(f"OTEL_EXPORTER_OTLP_{name}", raising=False)
    for name in ("OTEL_TRACES_EXPORTER", "OTEL_SDK_DISABLED"):
        monkeypatch.delenv(name, raising=False)


@pytest.mark.parametrize(
    ("environment", "asked"),
    [
        ({}, False),
        (ENDPOINT, True),
        ({"OTEL_EXPORTER_OTLP_TRACES_ENDPOINT": "http://127.0.0.1:9"}, True),
        ({"OTEL_TRACES_EXPORTER": "otlp"}, True),
        ({**ENDPOINT, "OTEL_TRACES_EXPORTER": "none"}, False),
        ({**ENDPOINT, "OTEL_SDK_DISABLED": "true"}, False),
        ({"OTEL_EXPORTER_OTLP_ENDPOINT": ""}, False),
    ],
)
def test_the_standard_variables_ask_for_traces(environment: dict[str, str], asked: bool) -> None:
    assert asked_for(environment) is asked


def test_nobody_asks_by_default() -> None:
    assert trace(create_app(Settings())) is create_app(Settings()).state.end_of_traces


@pytest.mark.parametrize("missing", [ModuleNotFoundError, None])
def test_traces_without_their_packages_are_refused_at_the_start(missing: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def find(_: str) -> None:
        if missing is not None:
            raise missing

    monkeypatch.setattr(tracing, "find_spec", find)
    tracing.require_packages()  # nobody asks
    monkeypatch.setenv("OTEL_TRACES_EXPORTER", "otlp")
    with pytest.raises(ValueError, match=r"need opentelemetry.sdk.trace: install toeline with its extra 'tracing'"):
        create_app(Settings())


def test_the_application_is_traced_where_the_environment_asks(monkeypatch: pytest.MonkeyPatch) -> None:
    pytest.importorskip("opentelemetry.instrumentation.fastapi")
    pytest.importorskip("opentelemetry.exporter.otlp.proto.http")
    monkeypatch.setenv(*next(iter(ENDPOINT.items())))
    web = create_app(Settings())
    assert web._is_instrumented_by_opentelemetry
    web.state.end_of_traces()


class Span:
    """What a hook sees of a span."""

    def __init__(self, recording: bool, **attributes: str) -> None:
        self.recording = recording
        self.attributes = {name.replace("_", "."): value for name, value in attributes.items()}

    def is_recording(self) -> bool:
        return self.recording

    def set_attribute(self, name: str, value: str) -> None:
        self.attributes[name] = value


def test_a_span_has_of_its_addresses_the_words_of_the_paths_only() -> None:
    given = {
        "http_url": "http://here:80k3y/v1/check?key=k3y",
        "url_full": "http://here:80/v1/check%3Fkey=k3y",
        "http_target": "/v1/k3y?a",
        "url_path": "/v1/check",
        "url_query": "key=k3y",
        "http_route": "/v1/{x}",
        "http_method": "GET",
        "http_request_method": "K3Y",
    }
    keep = AddressFilter(["v1", "check"])
    span, idle = Span(True, **given), Span(False, **given)
    for each in (span, idle):
        tracing.hide_addresses(each, keep)
    assert list(span.attributes.values()) == [
        "http://.../v1/check",
        "http://.../v1/...",
        "/v1/...",
        "/v1/check",
        "",
        "/v1/{x}",
        "GET",
        "...",
    ]
    assert list(idle.attributes.values()) == list(given.values())


def test_a_span_has_neither_key_nor_query() -> None:
    pytest.importorskip("opentelemetry.instrumentation.fastapi")
    from opentelemetry.sdk.trace import TracerProvider
    from opentelemetry.sdk.trace.export import SimpleSpanProcessor
    from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter

    exporter, provider = InMemorySpanExporter(), TracerProvider()
    provider.add_span_processor(SimpleSpanProcessor(exporter))
    web = create_app(Settings(api_keys=("k3y",), allow_query_key=True))
    instrument(web, provider)
    query = "stress_range_mpa=91.25&only=answer.life_cycles&key=k3y"

    async def asked() -> None:
        transport = httpx.ASGITransport(web)
        async with httpx.AsyncClient(transport=transport, base_url="http://test") as client:
            answer = await client.get(f"/v1/curves/iiw-2016-normal-steel-80/life?{query}")
            assert answer.status_code == 200
            assert (await client.get("/health/live")).status_code == 200

    asyncio.run(asked())
    (span,) = exporter.get_finished_spans()
    assert "/v1/curves/{curve}/life" in span.name
    told = span.to_json()
    assert "k3y" not in told
    assert "91.25" not in told
