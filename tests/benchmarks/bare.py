"""A bare FastAPI application that echoes requests of the same models: what the framework alone costs."""

from __future__ import annotations

from typing import Annotated

from fastapi import FastAPI, Query

from service.topics.registry import find, load

load()
PEAK, LIFE, CHECK = find("stress/peak"), find("curves/{curve}/life", "GET"), find("check")
assert PEAK is not None
assert LIFE is not None
assert CHECK is not None
Peak, Check = PEAK.request, CHECK.request
app = FastAPI()


@app.post("/peak")
async def peak(request: Peak) -> Peak:  # type: ignore[valid-type]
    """A peak stress request, echoed."""
    return request


@app.post("/check")
async def check(request: Check) -> Check:  # type: ignore[valid-type]
    """A check request, echoed."""
    return request


@app.get("/curves/{curve}/life")
async def life(curve: str, stress_range_mpa: Annotated[float, Query(gt=0.0)]) -> dict[str, object]:
    """A look-up, echoed."""
    return {"curve": curve, "stress_range_mpa": stress_range_mpa}
