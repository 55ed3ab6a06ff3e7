"""Bodies in other forms than JSON: tables, arrays, meshes."""

from __future__ import annotations

import io
import json
from functools import cache
from pathlib import Path
from urllib.parse import urlencode

import numpy as np

Body = tuple[str, str, str, bytes]  # calculation, media type, query with its question mark, bytes
EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
RECORD = np.round(60.0 * np.sin(np.arange(200) / 3.0) + 25.0 * np.sin(np.arange(200) / 1.7), 3)
CURVE = "?curve=iiw-2016-normal-steel-80"


def _table(**columns: object) -> bytes:
    rows = zip(*columns.values(), strict=True)  # type: ignore[call-overload]
    return "\n".join([",".join(columns), *(",".join(map(str, row)) for row in rows), ""]).encode()


def _array(values: np.ndarray) -> bytes:
    stream = io.BytesIO()
    np.save(stream, values)
    return stream.getvalue()


def _readings() -> Body:
    """Those of the first specimen of an example, as a table."""
    request = json.loads((EXAMPLES / "trials/growth-rate-plate.json").read_bytes())["request"]
    first = request["tests"][0]
    rest = {"specimen": json.dumps(first["specimen"]), "reduction": request["reduction"], "confidence": "0.95"}
    table = _table(size_mm=first["size_mm"], cycles=first["cycles"])
    return "trials/growth-rate", "text/csv", f"?{urlencode(rest)}", table


@cache
def other_bodies() -> tuple[Body, ...]:
    """Bodies as they are sent, before any byte of them is changed."""
    history = _table(side_mpa=RECORD)
    several = _table(side_mpa=RECORD, pull_mpa=RECORD[::-1])
    ended = ["no"] * 4 + ["yes"]
    tests = _table(range_mpa=[200, 150, 120, 100, 90], life_cycles=[1e5, 3e5, 7e5, 2e6, 5e6], run_out=ended)
    sn = "?stress_kind=nominal&rule=tolerance&survival_probability=0.95&confidence=0.75"
    failed = ["no", "yes", "yes", "no", "no", "yes"]
    stairs = _table(test_level_mpa=[100, 110, 100, 90, 100, 110], specimen_failed=failed)
    meshes = [
        ("stress/weld-lines", "application/xml", "?length_factor=1", path.read_bytes())
        for path in sorted(EXAMPLES.glob("data/stiffener/*.vtu"))
    ]
    return (
        ("spectrum/cycles", "text/csv", "", history),
        ("spectrum/cycles", "text/csv", "?columns=pull_mpa", several),
        ("spectrum/cycles", "application/x-npy", "", _array(RECORD)),
        ("spectrum/damage", "text/csv", CURVE, history),
        ("spectrum/damage", "application/x-npy", CURVE, _array(RECORD)),
        ("trials/sn-line", "text/csv", sn, tests),
        ("trials/staircase", "text/csv", "?step_mpa=10&survival_probability=0.95&confidence=0.75", stairs),
        _readings(),
        *[mesh for mesh in meshes if len(mesh[3]) < 300_000],
    )
