"""Traces of requests, where the standard environment variables of OpenTelemetry ask for them."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from importlib.util import find_spec
from typing import Any
from urllib.parse import urlsplit

from fastapi import FastAPI

from ...access.addresses import HIDDEN, AddressFilter, shown_method, words_of

ENDPOINTS = ("OTEL_EXPORTER_OTLP_ENDPOINT", "OTEL_EXPORTER_OTLP_TRACES_ENDPOINT")
NOT_TRACED = "health/live,health/ready,metrics"
_PACKAGES = (
    "opentelemetry.sdk.trace",
    "opentelemetry.exporter.otlp.proto.http.trace_exporter",
    "opentelemetry.instrumentation.fastapi",
)
_METHODS = ("http.method", "http.request.method", "http.request.method_original")
_ADDRESSES = ("http.url", "http.target", "url.full", "url.path", "url.query")


def asked_for(environment: Mapping[str, str]) -> bool:
    """Whether traces are to be sent somewhere.

    >>> asked_for({"OTEL_EXPORTER_OTLP_ENDPOINT": "http://localhost:4318"}), asked_for({})
    (True, False)
    """
    off = environment.get("OTEL_SDK_DISABLED", "").strip().lower() == "true"
    exporter = environment.get("OTEL_TRACES_EXPORTER", "").strip().lower()
    return not off and exporter != "none" and (exporter == "otlp" or any(environment.get(each) for each in ENDPOINTS))


def require_packages() -> None:
    """ValueError where the environment asks for traces and the packages of the extra 'tracing' are missing."""
    missing = [name for name in _PACKAGES if asked_for(os.environ) and not _is_there(name)]
    if missing:
        text = f"the environment asks for traces, which need {missing[0]}: install toeline with its extra 'tracing'"
        raise ValueError(text)


def _is_there(name: str) -> bool:
    try:
        return find_spec(name) is not None
    except ModuleNotFoundError:  # nor what it lies in
        return False


def trace(web: FastAPI) -> Callable[[], None]:
    """Makes a span of every request of an application where the environment asks for it.

    Returns : what sends the last spans, to be called when the service ends
    Raises  : ValueError without the packages of the extra 'tracing'
    """
    if not asked_for(os.environ):
        return _nothing
    require_packages()
    from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter
    from opentelemetry.sdk.trace import TracerProvider
    from opentelemetry.sdk.trace.export import BatchSpanProcessor

    provider = TracerProvider()
    provider.add_span_processor(BatchSpanProcessor(OTLPSpanExporter()))
    instrument(web, provider)
    shutdown: Callable[[], None] = provider.shutdown
    return shutdown


def instrument(web: FastAPI, provider: Any) -> None:
    """Spans by the instrumentation of the framework, one a request."""
    from opentelemetry.instrumentation.fastapi import FastAPIInstrumentor

    keep = AddressFilter(words_of(web.routes))
    FastAPIInstrumentor.instrument_app(
        web,
        tracer_provider=provider,
        server_request_hook=lambda span, _: hide_addresses(span, keep),
        excluded_urls=NOT_TRACED,
        exclude_spans=["receive", "send"],
    )


def hide_addresses(span: Any, keep: AddressFilter) -> None:
    """Leaves of a span's addresses the words of the service's paths: a key or an input may be anywhere in the rest."""
    known = span.attributes or {} if span.is_recording() else {}
    for name in _ADDRESSES:
        if name in known:
            parts = urlsplit(str(known[name]))
            host = f"{parts.scheme}://{HIDDEN}" if parts.netloc else ""  # a target without slash is joined to the host
            span.set_attribute(name, "" if name == "url.query" else host + keep.shown(parts.path))
    for name in _METHODS:
        if name in known:
            span.set_attribute(name, shown_method(str(known[name])))


def _nothing() -> None:
    """There is nothing to send."""
