"""Each choice of law, loading, condition, criterion, scatter: the answer is the core's, and no other's."""

from __future__ import annotations

from typing import Any

import pytest

from fatcore.cracks.configurations.intensity_table import IntensityTable
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.straight import EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.configurations.table_crack import TabledCrack
from fatcore.cracks.driving import load_blocks
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold, convert_coefficient
from fatcore.cracks.driving.load_ratio import LoadRatioEffect
from fatcore.cracks.driving.mixed_mode import effective_intensity, find_direction
from fatcore.cracks.driving.transitions import TRANSITIONS
from fatcore.cracks.fracture.assessment import Strength, assess_fracture
from fatcore.cracks.growth.life import grow
from fatcore.cracks.scatter.monte_carlo import simulate_scatter
from fatcore.cracks.scatter.random_variables import VARIABLES, Distribution

from .choices import run

STAGES = [{"coefficient": 5.21e-13, "exponent": 3.0}]
LAW: dict[str, Any] = {"stages": STAGES, "units": "mm-MPa"}
EDGE = {"kind": "edge", "depth_mm": 1.0, "width_mm": 20.0}
STRESS = {"membrane_mpa": 100.0}
REVERSED = {"kind": "constant", "maximum": 1.0, "minimum": -0.5}
BODY: dict[str, Any] = {
    "crack": EDGE,
    "stress": STRESS,
    "law": LAW,
    "loading": REVERSED,
    "condition": "stress-relieved",
}
EFFECTS: dict[str, dict[str, Any]] = {
    "none": {},
    "walker": {"walker_exponent": 0.5},
    "forman": {"toughness_mpa_sqrt_mm": 4000.0},
    "elber": {},
    "schijve": {},
    "newman": {"constraint": 2.0, "stress_over_flow": 0.4},
}
FORMS = ("cut", "power-difference", "shifted")
SIZES, OPENING = [1.0, 2.0, 5.0], [300.0, 360.0, 500.0]
SLIDING, TEARING = [100.0, 150.0, 200.0], [60.0, 80.0, 90.0]
CRITERIA = ("largest", "tangential-stress", "tanaka", "energy", "richard")
MODELS: dict[str, dict[str, Any]] = {
    "wheeler": {"exponent": 1.3},
    "willenborg": {"shut_off_ratio": 3.0, "threshold_mpa_sqrt_mm": 60.0},
}
BLOCK = {
    "kind": "blocks",
    "maximum": [1.0, 1.8, 0.5],
    "minimum": [0.1, 0.5, -0.3],
    "cycles": [900.0, 1.0, 50.0],
}
TOE = {"kind": "surface", "depth_mm": 0.5, "half_length_mm": 1.0, "thickness_mm": 12.0}
TWO_STAGES = {
    "stages": [{"coefficient": 4.8e-18, "exponent": 5.1}, {"coefficient": 5.86e-13, "exponent": 2.88}],
    "units": "mm-MPa",
    "threshold_mpa_sqrt_mm": 30.0,
}
KINDS: dict[str, dict[str, Any]] = {
    "lognormal": {"median": 1.1, "log_deviation": 0.3},
    "normal": {"mean": 1.1, "variation": 0.2},
    "exponential": {"mean": 1.1},
    "weibull": {"mean": 1.1, "variation": 0.3},
    "fixed": {"mean": 1.1},
}
TABLE = {"opening": OPENING, "sliding": SLIDING, "tearing": TEARING}
MIXED_CRACK = {"kind": "table", "start_mm": 1.0, "crack_size_mm": SIZES, "k_mpa_sqrt_mm": TABLE}
STRENGTH = {"yield_strength_mpa": 355.0, "ultimate_strength_mpa": 490.0, "toughness_mpa_sqrt_mm": 2000.0}


FRACTURE: dict[str, Any] = {
    "strength": STRENGTH,
    "k_primary_mpa_sqrt_mm": OPENING,
    "k_sliding_mpa_sqrt_mm": SLIDING,
    "k_tearing_mpa_sqrt_mm": TEARING,
    "reference_stress_mpa": [100.0] * 3,
}


def growth(**more: Any) -> dict[str, Any]:
    return BODY | more


def slowed(model: str, zone_state: str = "plane-stress") -> dict[str, Any]:
    return {"model": model, "yield_strength_mpa": 355.0, "zone_state": zone_state} | MODELS[model]


def with_effect(kind: str) -> dict[str, Any]:
    return LAW | {"load_ratio_effect": {"kind": kind} | EFFECTS[kind]}


def scattering(**more: Any) -> dict[str, Any]:
    body: dict[str, Any] = {
        "crack": TOE,
        "stress": {"membrane_mpa": 120.0, "bending_mpa": 40.0},
        "law": TWO_STAGES,
        "loading": {"kind": "constant", "maximum": 1.0, "minimum": 0.1},
        "variables": {"stress_factor": {"kind": "normal", "mean": 1.0, "variation": 0.1}},
        "samples": 32,
    }
    return body | more


REQUESTS = [
    ("POST", "cracks/fracture", FRACTURE),
    ("POST", "cracks/growth", {"crack": MIXED_CRACK, "law": LAW, "loading": {"kind": "constant"}}),
    *(("POST", "cracks/growth", growth(law=with_effect(kind))) for kind in EFFECTS),
    *(
        ("POST", "cracks/growth", growth(loading=BLOCK | {"retardation": slowed(model)}))
        for model in MODELS
    ),
    ("POST", "cracks/growth", growth(law=LAW | {"threshold_mpa_sqrt_mm": 60.0})),
    ("POST", "cracks/scatter", scattering(first_size="crack", variable_set="jcss-part3")),
    *(
        ("POST", "cracks/scatter", scattering(variables={"stress_factor": {"kind": kind} | given}))
        for kind, given in KINDS.items()
    ),
]  # fmt: skip


def core_law(**more: Any) -> GrowthLaw:
    return GrowthLaw(low=(Stage(coefficient=5.21e-13, exponent=3.0),), **more)


def core_life(law: GrowthLaw, **more: Any) -> float | None:
    values: dict[str, Any] = {
        "crack": EdgeCrack(depth_mm=1.0, width_mm=20.0),
        "stress": Stress(membrane_mpa=100.0),
        "loading": load_blocks.constant_loading(1.0, -0.5),
        "condition": "stress-relieved",
    }
    return grow(law=law, **(values | more)).life_cycles


def life(body: dict[str, Any]) -> Any:
    return run("POST", "cracks/growth", body)["life_cycles"]


def test_load_ratio_effects_are_those_of_the_core() -> None:
    found = {kind: life(growth(law=with_effect(kind))) for kind in EFFECTS}
    for kind, constants in EFFECTS.items():
        effect = LoadRatioEffect(kind=kind, **constants)  # type: ignore[arg-type]
        assert found[kind] == core_life(core_law(effect=effect))
    differ = {round(value) for kind, value in found.items() if kind not in ("walker", "elber")}
    assert len(differ) == 4
    # below load ratio 0 both take the open part at load ratio 0; at 0.3 they differ from no effect too
    above = {"kind": "constant", "maximum": 1.0, "minimum": 0.3}
    high = {k: round(life(growth(law=with_effect(k), loading=above))) for k in ("none", "walker", "elber")}
    assert len(set(high.values())) == 3


def test_forms_of_the_threshold_are_those_of_the_core() -> None:
    found = [life(growth(law=LAW | {"threshold_mpa_sqrt_mm": 60.0, "threshold_form": form})) for form in FORMS]
    threshold = Threshold(intercept_mpa_sqrt_mm=60.0)
    assert found == [core_life(core_law(threshold=threshold, threshold_form=form)) for form in FORMS]
    assert found[0] < found[1] < found[2]


def test_units_of_the_constants_are_those_of_the_core() -> None:
    metres = life(growth(law={"stages": [{"coefficient": 1.65e-11, "exponent": 3.0}], "units": "m-MPa"}))
    coefficient = float(convert_coefficient(1.65e-11, 3.0, "m-MPa"))
    assert metres == core_life(GrowthLaw(low=(Stage(coefficient=coefficient, exponent=3.0),)))
    raw = life(growth(law={"stages": [{"coefficient": 1.65e-11, "exponent": 3.0}], "units": "mm-MPa"}))
    assert metres == pytest.approx(raw * 1000.0**0.5, rel=1e-6)


def test_conditions_are_those_of_the_core() -> None:
    found = {condition: life(growth(condition=condition)) for condition in ("as-welded", "stress-relieved")}
    assert found["as-welded"] == core_life(core_law(), condition="as-welded")
    assert found["stress-relieved"] == core_life(core_law())
    assert found["stress-relieved"] == pytest.approx(found["as-welded"] * 1.5**3, rel=1e-6)


@pytest.mark.parametrize("criterion", CRITERIA)
def test_criteria_are_those_of_the_core(criterion: Any) -> None:
    table = TABLE
    body = {"crack": MIXED_CRACK, "law": LAW, "loading": {"kind": "constant"}, "criterion": criterion}
    own = TabledCrack(crack_size_mm=1.0, table=IntensityTable(SIZES, table))
    assert (
        life(body)
        == grow(crack=own, law=core_law(), loading=load_blocks.constant_loading(), criterion=criterion).life_cycles
    )
    columns = {f"{mode}_mpa_sqrt_mm": values for mode, values in table.items()}
    turned = run("POST", "cracks/mixed-mode", columns | {"criterion": criterion})
    outcome = find_direction(OPENING, SLIDING, TEARING, criterion=criterion)
    assert turned["effective_mpa_sqrt_mm"] == outcome.effective_mpa_sqrt_mm.tolist()
    assert turned["twist_angle_deg"] == outcome.twist_angle_deg.tolist()
    fracture = FRACTURE | {"criterion": criterion}
    primary = effective_intensity(OPENING, SLIDING, TEARING, criterion=criterion)
    placed = assess_fracture(primary, 100.0, Strength(**STRENGTH))
    assert run("POST", "cracks/fracture", fracture)["fracture_ratio"] == placed.fracture_ratio.tolist()


def test_criteria_differ() -> None:
    """The default is one of the others at every place, so the shear alone tells it apart from each."""
    lives = {}
    for opening, sliding, tearing in (
        ([500.0], [200.0], [90.0]),
        ([0.0], [0.0], [90.0]),
        ([0.0], [90.0], [0.0]),
    ):
        columns = {
            "opening_mpa_sqrt_mm": opening,
            "sliding_mpa_sqrt_mm": sliding,
            "tearing_mpa_sqrt_mm": tearing,
        }
        for criterion in CRITERIA:
            if criterion == "tangential-stress" and tearing > [max(*opening, *sliding)]:
                continue
            found = run("POST", "cracks/mixed-mode", columns | {"criterion": criterion})
            lives.setdefault(criterion, []).append(found["effective_mpa_sqrt_mm"][0])
    assert len({tuple(values) for values in lives.values()}) == len(CRITERIA)


@pytest.mark.parametrize("zone_state", ["plane-stress", "plane-strain"])
def test_models_of_retardation_are_those_of_the_core(zone_state: Any) -> None:
    found = {}
    for model in MODELS:
        given = slowed(model, zone_state)
        found[model] = life(growth(loading=BLOCK | {"retardation": given}))
        block = load_blocks.block_loading(
            BLOCK["maximum"],  # type: ignore[arg-type]
            BLOCK["minimum"],  # type: ignore[arg-type]
            BLOCK["cycles"],  # type: ignore[arg-type]
            load_blocks.Retardation(**given),
        )
        assert found[model] == core_life(core_law(), loading=block)
    assert found["wheeler"] != pytest.approx(found["willenborg"], rel=1e-3)
    other = "plane-strain" if zone_state == "plane-stress" else "plane-stress"
    otherwise = life(growth(loading=BLOCK | {"retardation": slowed("wheeler", other)}))
    assert found["wheeler"] != pytest.approx(otherwise, rel=1e-3)


def test_transitions_are_those_of_the_core() -> None:
    columns = [1.0, -1.0], [0.9, -1.1], [10.0, 20.0]
    entries = dict(zip(("maximum", "minimum", "cycles"), columns, strict=True))
    found = []
    for way in TRANSITIONS:
        found.append(life(growth(loading={"kind": "blocks", "transitions": way} | entries)))
        assert found[-1] == core_life(core_law(), loading=load_blocks.block_loading(*columns, transitions=way))
    assert found[0] < 0.1 * found[1]


def core_lives(variables: dict[str, Distribution], **more: Any) -> list[float | None]:
    stages = tuple(Stage(**stage) for stage in TWO_STAGES["stages"])  # type: ignore[arg-type]
    outcome = simulate_scatter(
        crack=SurfaceCrack(depth_mm=0.5, half_length_mm=1.0, thickness_mm=12.0),
        stress=Stress(membrane_mpa=120.0, bending_mpa=40.0),
        law=GrowthLaw(low=stages, threshold=Threshold(intercept_mpa_sqrt_mm=30.0)),
        loading=load_blocks.constant_loading(1.0, 0.1),
        variables=variables,
        samples=32,
        seed=1,
        quantiles=(0.001, 0.01, 0.023, 0.1, 0.5),
        **more,
    )
    return list(outcome.life_cycles)


def test_kinds_of_distribution_are_those_of_the_core() -> None:
    found = []
    for kind, constants in KINDS.items():
        given = {"kind": kind} | constants
        answer = run("POST", "cracks/scatter", scattering(variables={"stress_factor": given}))
        assert answer["life_cycles"] == core_lives({"stress_factor": Distribution(**given)})
        found.append(answer["life_cycles"][-1])
    assert len(set(found)) == len(KINDS)


@pytest.mark.uncounted
def test_every_variable_scatters_what_it_names() -> None:
    """Each half again as large: the life is the core's, and shorter; infinite by the threshold."""
    plain = core_lives({"stress_factor": Distribution(kind="fixed", mean=1.0)})[-1] or 0.0
    means = {"depth_mm": 0.75, "aspect_ratio": 0.33, "threshold_mpa_sqrt_mm": 200.0}
    for name in VARIABLES:
        given: dict[str, Any] = {"kind": "fixed", "mean": means.get(name, 1.5)}
        size: dict[str, Any] = {"first_size": "variables"} if name in ("depth_mm", "aspect_ratio") else {}
        answer = run("POST", "cracks/scatter", scattering(variables={name: given}, **size))["life_cycles"]
        assert answer == core_lives({name: Distribution(**given)}, **size), name
        if name == "threshold_mpa_sqrt_mm":
            assert answer[-1] is None
        else:
            assert answer[-1] < plain, name


def test_first_size_is_that_of_the_core() -> None:
    variable = {"kind": "fixed", "mean": 1.0}
    found = run("POST", "cracks/scatter", scattering(variables={"depth_mm": variable}, first_size="variables"))
    own = {"variable_set": "dnv-rp-c210", "variables": {}}
    crack, drawn = (
        run("POST", "cracks/scatter", scattering(first_size=way, **own))["life_cycles"][-1]
        for way in ("crack", "variables")
    )
    assert found["life_cycles"][-1] < crack < drawn
