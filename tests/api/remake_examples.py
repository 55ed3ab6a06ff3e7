"""Computes example responses anew, all or those named: python -m tests.api.remake_examples topic/case."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from service.base.envelope import evaluate
from service.topics.registry import load

FOLDER = Path(__file__).parents[2] / "openapi_examples"


def remake(path: Path) -> bool:
    """Rewrites one example; True when its response changed."""
    example = json.loads(path.read_text(encoding="utf-8"))
    method = example.get("method", "POST")
    calculation = load()[method, example["calculation"]]
    response = evaluate(calculation, example["request"], strings=method == "GET").envelope()
    changed = example.get("response") != response
    example["response"] = response
    path.write_text(json.dumps(example, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    return changed


def main(names: list[str]) -> None:
    paths = [FOLDER / f"{name}.json" for name in names] or sorted(FOLDER.glob("*/*.json"))
    for path in paths:
        if path.parent.name != "data":
            print("changed" if remake(path) else "same   ", path.relative_to(FOLDER))


if __name__ == "__main__":
    main(sys.argv[1:])
