"""Every word that a request may choose changes the answer somewhere."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import pytest

from service.topics.registry import load

from .choices import Choice, Key, choices_of, dispatched, examples, told_apart

HERE = Path(__file__).parent
TOLD = sorted(path for path in HERE.glob("test_choices_*.py"))
SURFACE = {"kind": "surface", "depth_mm": 0.5, "half_length_mm": 1.0, "thickness_mm": 12.0}
OWN_LAW = {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"}
CYCLE = {"kind": "constant", "maximum": 1.0, "minimum": 0.2}
GROWTH = {"crack": SURFACE, "stress": {"membrane_mpa": 120.0}, "law": OWN_LAW, "loading": CYCLE}
STRENGTH = {"yield_strength_mpa": 355.0, "ultimate_strength_mpa": 490.0, "toughness_mpa_sqrt_mm": 3000.0}
END = {"strength": STRENGTH, "line": "continuous", "grow_through": False}
EFFECTS = (
    {"kind": "none"},
    {"kind": "walker", "walker_exponent": 0.5},
    {"kind": "forman", "toughness_mpa_sqrt_mm": 3000.0},
    {"kind": "newman", "constraint": 2.0, "stress_over_flow": 0.3},
)
HISTORY = {
    "elapsed_cycles": [0.0, 2e5, 4e5, 6e5],
    "depth_mm": [0.5, 1.0, 3.0, 8.0],
    "half_length_mm": [0.5, 2.0, 8.0, 30.0],
    "end_reason": "fracture",
    "outside_codes": [],
    "block_cycles": None,
    "strength_checked": True,
}
FOUND = {"detection_probability": 0.5, "curve": {"median_mm": 1.5, "exponent": 1.2}}
TWO_BLOCKS = {
    "kind": "blocks",
    "maximum": [1.0, 0.3],
    "minimum": [0.6, -0.1],
    "cycles": [100.0, 100.0],
    "transitions": "in-entries",
}
TORN = {
    "kind": "table",
    "start_mm": 0.5,
    "crack_size_mm": [0.5, 2.0, 8.0],
    "k_mpa_sqrt_mm": {"opening": [210.0, 310.0, 330.0], "sliding": [90.0, 95.0, 99.0], "tearing": [80.0] * 3},
}
EDGE = {"kind": "edge", "depth_mm": 0.5, "width_mm": 10.0, "thickness_mm": 60.0}
SHARED = {"length_mm": 40.0, "members": [{"axial_stiffness_n_per_mm": 2.2e6}]}
SHARINGS = (
    {"grips": "free"},
    {"grips": "flexible", "grip_stiffness_nmm": 1e7},
    {"grips": "rigid", "control": "force"},
    {"grips": "rigid", "control": "spring", "drive_stiffness_n_per_mm": 1e5},
)


def scattered(kind: str) -> dict[str, object]:
    """A growth request whose stress scatters by a distribution of this kind."""
    spread = {"kind": kind, "mean": 1.0} | ({"variation": 0.2} if kind in {"normal", "weibull"} else {})
    if kind == "lognormal":
        spread |= {"variation": 0.4}
    return {**GROWTH, "variables": {"stress_factor": spread}, "samples": 64}


MORE = [
    *(("POST", "cracks/growth", {**GROWTH, "law": {**OWN_LAW, "load_ratio_effect": effect}}) for effect in EFFECTS),
    ("POST", "cracks/growth", {**GROWTH, "stress": {"membrane_mpa": 250.0}, "end": END}),
    *(("POST", "cracks/scatter", scattered(kind)) for kind in ("lognormal", "normal", "weibull", "fixed")),
    ("POST", "cracks/inspection", {"history": HISTORY, **FOUND, "size_kind": "length"}),
    *(
        (
            "POST",
            "cracks/inspection",
            {"history": {**HISTORY, "size_kind": kind}, "size_kind": "depth", "detectable_mm": 2.0},
        )
        for kind in ("depth", "buried", "unknown")
    ),
    ("POST", "cracks/growth", {**GROWTH, "loading": TWO_BLOCKS}),
    ("POST", "cracks/growth", {"crack": TORN, "law": OWN_LAW, "loading": CYCLE}),
    *(("POST", "cracks/growth", {**GROWTH, "crack": EDGE, "sharing": {**SHARED, **s}}) for s in SHARINGS),
]


def requests_of(key: Key) -> list[dict[str, object]]:
    """Examples of a calculation, and the requests that the files of choices add."""
    found = [request for which, request in examples() if which == key]
    found += [request for *which, request in MORE if tuple(which) == key]
    for path in TOLD:
        module = import_module(f"tests.api.{path.stem}")
        found += [request for *which, request in getattr(module, "REQUESTS", ()) if tuple(which) == key]
    return found


@pytest.fixture(scope="module")
def states() -> dict[Choice, str]:
    """The best state of each choice over all calculations: models are shared between routes."""
    found: dict[Choice, str] = {}
    for key, calculation in load().items():
        if choices_of(calculation.request):
            found |= dict.fromkeys(told_apart(key, requests_of(key)), "differs")
            for choice, state in dispatched(key, requests_of(key), found).items():
                if found.get(choice) != "differs":
                    found[choice] = state
    return found


@pytest.mark.uncounted
def test_every_choice_changes_the_answer(states: dict[Choice, str]) -> None:
    told = "".join(path.read_text(encoding="utf-8") for path in TOLD)
    every = {choice for calculation in load().values() for choice in choices_of(calculation.request)}
    found = {each: states.get(each, "unreached") for each in every}
    silent = {each: state for each, state in found.items() if state != "differs" and f'"{each[2]}"' not in told}
    assert not silent, "\n".join(f"{each}: {state}" for each, state in sorted(silent.items(), key=str))
