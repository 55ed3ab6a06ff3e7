"""A bare FastAPI application with the same models: it reads the same requests and gives answers that were made before.

What the framework alone costs: no calculation, no digest, no findings, no limits.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Annotated, Any

from fastapi import FastAPI, Query

from service.base.envelope import envelope_model, evaluate
from service.topics.registry import find, load

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
load()
app = FastAPI()


def _echo(name: str, example: str, path: str) -> None:
    calculation = find(name)
    assert calculation is not None
    request = json.loads((EXAMPLES / f"{example}.json").read_text(encoding="utf-8"))["request"]
    answer = evaluate(calculation, request).envelope()
    model: Any = calculation.request

    async def echo(given: Any) -> Any:
        return answer

    echo.__annotations__ = {"given": model}
    app.post(path, response_model=envelope_model(calculation))(echo)


_echo("stress/peak", "stress/peak-root", "/peak")
_echo("check", "check/one-toe-constant", "/check")
LIFE = find("curves/{curve}/life", "GET")
assert LIFE is not None
ANSWER = evaluate(LIFE, {"curve": "iiw-2016-normal-steel-90", "stress_range_mpa": 100.0}).envelope()


@app.get("/curves/{curve}/life", response_model=envelope_model(LIFE))
async def life(curve: str, stress_range_mpa: Annotated[float, Query(gt=0.0)]) -> Any:
    """A look-up, answered with the answer made before."""
    return ANSWER
