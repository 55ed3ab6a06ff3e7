"""Every choice of a cracked body, its surroundings, its end and its inspection reaches the core: the answer
is the core's, and it differs from that of every other choice.
"""

from __future__ import annotations

from typing import Any, get_args

import httpx
import numpy as np
import pytest
from scipy.integrate import quad

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.sharing import Member, Sharing
from fatcore.cracks.configurations.straight import EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving.law import paris
from fatcore.cracks.driving.load_blocks import Retardation, block_loading, constant_loading
from fatcore.cracks.fracture import assessment
from fatcore.cracks.fracture.critical_size import find_critical_size
from fatcore.cracks.growth import detection, inspection
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import grow
from fatcore.cracks.intensity.families import FAMILIES
from fatcore.cracks.intensity.family import REQUIRED
from service.topics.cracks import models as cracks_models
from service.topics.cracks import scatter
from service.topics.cracks.law import RetardationRequest
from service.topics.cracks.routes import InspectionRequest

PARIS = {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"}
LAW = paris(5.21e-13, 3.0)
CYCLE = {"kind": "constant", "maximum": 1.0, "minimum": 0.0}
TENSION = {"membrane_mpa": 100.0, "bending_mpa": 30.0}
EDGE = {"depth_mm": 1.0, "width_mm": 20.0, "thickness_mm": 10.0}
STEEL = {"yield_strength_mpa": 355.0, "ultimate_strength_mpa": 510.0, "toughness_mpa_sqrt_mm": 3000.0}
BESIDE = {"axial_stiffness_n_per_mm": 4e5, "rotational_stiffness_nmm": 3e7, "offset_mm": 10.0}


def choices(model: Any, field: str) -> tuple[str, ...]:
    """The words of a Literal in a request model."""
    annotation = model.model_fields[field].annotation
    words = get_args(annotation)
    if words and not isinstance(words[0], str):  # optional
        words = get_args(words[0])
    return tuple(word for word in words if isinstance(word, str))


def answer(client: httpx.Client, route: str, body: dict[str, Any]) -> dict[str, Any]:
    reply = client.post(f"/v1/cracks/{route}", json=body)
    assert reply.status_code == 200, reply.text
    return reply.json()["answer"]  # type: ignore[no-any-return]


def life(client: httpx.Client, crack: dict[str, Any], **more: Any) -> float:
    body = {"crack": crack, "stress": TENSION, "law": PARIS, "loading": CYCLE} | more
    return float(answer(client, "growth", body)["life_cycles"])


def all_differ(values: list[Any]) -> None:
    """No two of the numbers are the same to a millionth."""
    for i, one in enumerate(values):
        for other in values[:i]:
            assert one != pytest.approx(other, rel=1e-6)


def test_forms_of_the_toe(client: httpx.Client) -> None:
    size = {"depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 20.0, "toe_footprint_mm": 40.0}
    found = []
    for form in choices(cracks_models.SurfaceRequest, "toe_form"):
        found.append(life(client, {"kind": "surface", "toe_form": form} | size))
        core = grow(
            crack=SurfaceCrack(toe_form=form, **size),
            stress=Stress(**TENSION),
            law=LAW,
            loading=constant_loading(),
        )
        assert found[-1] == core.life_cycles
    all_differ([*found, life(client, {"kind": "surface"} | size | {"toe_footprint_mm": None})])


def test_forms_of_the_edge_factors(client: httpx.Client) -> None:
    found = []
    for form in choices(cracks_models.EdgeRequest, "form"):
        found.append(life(client, {"kind": "edge", "form": form} | EDGE))
        core = grow(
            crack=EdgeCrack(form=form, **EDGE),
            stress=Stress(**TENSION),
            law=LAW,
            loading=constant_loading(),
        )
        assert found[-1] == core.life_cycles
    all_differ(found)


@pytest.mark.parametrize("field", ["grips", "control", "plane"])
def test_surroundings_of_the_cracked_member(client: httpx.Client, field: str) -> None:
    needs = {"flexible": {"grip_stiffness_nmm": 2e7}, "spring": {"drive_stiffness_n_per_mm": 1e5}}
    base = {"length_mm": 100.0, "grips": "free", "control": "displacement"}
    found = []
    for word in choices(cracks_models.SharingRequest, field):
        around = base | {field: word} | needs.get(word, {})
        found.append(
            life(client, {"kind": "edge"} | EDGE, sharing=around | {"members": [BESIDE]}, end={"depth_mm": 9.0})
        )
        core = grow(
            crack=EdgeCrack(**EDGE),
            stress=Stress(**TENSION),
            law=LAW,
            loading=constant_loading(),
            end=EndCriteria(depth_mm=9.0),
            sharing=Sharing(members=(Member(**BESIDE),), **around),  # type: ignore[arg-type]
        )
        assert found[-1] == core.life_cycles
    all_differ(found)


def test_assessment_lines_of_growth_states_and_critical_size(client: httpx.Client) -> None:
    strength = assessment.Strength(**STEEL)
    lives, sizes, allowed = [], [], []
    for line in choices(cracks_models.EndRequest, "line"):
        lives.append(life(client, {"kind": "edge"} | EDGE, end={"strength": STEEL, "line": line}))
        body = {"crack": {"kind": "edge"} | EDGE, "stress": TENSION, "strength": STEEL, "line": line}
        sizes.append(answer(client, "critical-size", body)["critical_mm"])
        states = {"k_primary_mpa_sqrt_mm": [900.0], "reference_stress_mpa": [330.0]}
        allowed.append(answer(client, "fracture", states | {"strength": STEEL, "line": line})["allowed_ratio"][0])
        core = find_critical_size(EdgeCrack(**EDGE), Stress(**TENSION), strength, line=line)  # type: ignore[arg-type]
        assert sizes[-1] == core.critical_mm
        assert allowed[-1] == pytest.approx(float(assessment.assessment_line(330.0 / 355.0, strength, line)))  # type: ignore[arg-type]
    for found in (lives, sizes, allowed):
        all_differ(found)
    assert choices(scatter.FractureRequest, "line") == choices(cracks_models.EndRequest, "line")


@pytest.mark.parametrize("field", ["model", "zone_state"])
def test_models_of_retardation(client: httpx.Client, field: str) -> None:
    found = []
    for word in choices(RetardationRequest, field):
        slowed = {"model": "wheeler", "yield_strength_mpa": 355.0} | {field: word}
        slowed |= {"exponent": 1.5} if slowed["model"] == "wheeler" else {}
        block = {"maximum": [1.0, 0.6], "minimum": [0.0, 0.1], "cycles": [1.0, 100.0]}
        loaded = {"kind": "blocks", "retardation": slowed} | block
        found.append(life(client, {"kind": "edge"} | EDGE, loading=loaded, end={"depth_mm": 5.0}))
        core = grow(
            crack=EdgeCrack(**EDGE),
            stress=Stress(**TENSION),
            law=LAW,
            loading=block_loading(*block.values(), Retardation(**slowed)),  # type: ignore[arg-type]
            end=EndCriteria(depth_mm=5.0),
        )
        assert found[-1] == core.life_cycles
    all_differ(found)


@pytest.mark.parametrize(
    "end",
    [
        {"depth_mm": 4.0},
        {"half_length_mm": 4.5},
        {"toughness_mpa_sqrt_mm": 700.0},
        {"yield_strength_mpa": 160.0},
        {"strength": STEEL},
        {"cycles": 1e5},
        {"grow_through": True},
        {},
    ],
)
def test_every_end_ends(client: httpx.Client, end: dict[str, Any]) -> None:
    size = {"depth_mm": 1.0, "half_length_mm": 2.0, "thickness_mm": 20.0, "half_width_mm": 50.0}
    body = {
        "crack": {"kind": "surface"} | size,
        "stress": TENSION,
        "law": PARIS,
        "loading": CYCLE,
        "end": end,
    }
    found = answer(client, "growth", body)
    values = end | ({"strength": assessment.Strength(**STEEL)} if "strength" in end else {})
    core = grow(
        crack=SurfaceCrack(**size),
        stress=Stress(**TENSION),
        law=LAW,
        loading=constant_loading(),
        end=EndCriteria(**values),
    )
    assert (found["life_cycles"], found["end_reason"]) == (core.life_cycles, core.end_reason)
    reasons = {
        "depth_mm": "size",
        "half_length_mm": "length",
        "toughness_mpa_sqrt_mm": "fracture",
        "yield_strength_mpa": "ligament-yield",
        "strength": "failure-assessment",
        "cycles": "cycles",
        "grow_through": "separated",
    }
    assert found["end_reason"] == reasons.get(next(iter(end), ""), "through-thickness")


def test_detection_curves(client: httpx.Client) -> None:
    cycles, sizes = [0.0, 2e5, 4e5, 6e5], [0.2, 1.0, 20.0, 500.0]
    found = []
    for name in detection.detection_curves():
        curve = detection.named_detection(name)
        body = {"elapsed_cycles": cycles, "crack_size_mm": sizes, "size_kind": curve.size, "curve": name}
        body |= {"detection_probability": 0.8}
        got = answer(client, "inspection", body)
        core = inspection.plan_inspections(cycles, sizes, curve=curve, size_kind=curve.size, detection_probability=0.8)
        assert got["detectable_mm"] == core.detectable_mm
        assert got["worst_missed_probability"] == core.worst_missed_probability
        assert got["mean_missed_probability"] == core.mean_missed_probability
        found.append(got["detectable_mm"])
    all_differ(found)


def test_kinds_of_size_of_a_history(client: httpx.Client) -> None:
    history = {
        "elapsed_cycles": [0.0, 1e5, 3e5],
        "depth_mm": [1.0, 4.0, 9.0],
        "half_length_mm": [2.0, 5.0, 7.0],
        "end_reason": "fracture",
        "outside_codes": [],
        "block_cycles": None,
        "strength_checked": True,
    }
    columns = {"depth": [1.0, 4.0, 9.0], "length": [4.0, 10.0, 14.0]}
    found = []
    for kind in choices(InspectionRequest, "size_kind"):
        body = {"history": history, "size_kind": kind, "detectable_mm": 6.0}
        found.append(answer(client, "inspection", body)["detectable_cycles"])
        assert (
            found[-1]
            == inspection.plan_inspections([0.0, 1e5, 3e5], columns[kind], detectable_mm=6.0).detectable_cycles
        )
    all_differ(found)


VALUES = {
    "half_length_mm": 15.0,
    "thickness_mm": 20.0,
    "half_width_mm": 60.0,
    "width_mm": 60.0,
    "membrane_mpa": 100.0,
    "bending_mpa": 20.0,
    "pressure_mpa": 10.0,
    "mean_radius_mm": 200.0,
    "inner_radius_mm": 190.0,
    "surface_length_mm": 6.0,
    "free_length_mm": 200.0,
    "force_n": 20000.0,
    "leg_mm": 10.0,
    "footprint_mm": 30.0,
    "weld_height_mm": 6.0,
    "weld_leg_mm": 8.0,
    "toe_angle_deg": 45.0,
}


def parameters(name: str) -> dict[str, Any]:
    """What a family needs, and every load that it takes."""
    chosen = FAMILIES[name]
    needed = [p for p in chosen.parameters if p.default is REQUIRED or p.role == "load"]
    found = {p.name: p.choices[0] if p.choices else VALUES[p.name] for p in needed if p.name != chosen.size}
    if name == "surface-at-detail":
        found |= {"weld_height_mm": 6.0, "weld_leg_mm": 8.0, "toe_angle_deg": 45.0}
    return found


@pytest.mark.parametrize("name", sorted(FAMILIES))
def test_families_of_cracks_grow_by_their_own_intensity(client: httpx.Client, name: str) -> None:
    """The life is the integral of the growth law over the size, computed by a general library."""
    given, chosen = parameters(name), FAMILIES[name]
    crack = {"kind": "family", "family": name, "start_mm": 4.0, "largest_mm": 5.0, "parameters": given}
    found = life(client, crack, stress={})

    def slowness(size: float) -> float:
        own = np.rad2deg(size / given["mean_radius_mm"]) if chosen.arc_radius else size
        return float(1.0 / LAW.rate_mm_per_cycle(chosen.intensity(own, **given).k_mpa_sqrt_mm))

    assert found == pytest.approx(quad(slowness, 4.0, 5.0, epsrel=1e-10)[0], rel=1e-6)


def test_no_two_families_give_the_same_life(client: httpx.Client) -> None:
    def one(name: str) -> float:
        crack = {"kind": "family", "family": name, "start_mm": 4.0, "largest_mm": 5.0}
        return life(client, crack | {"parameters": parameters(name)}, stress={})

    all_differ([one(name) for name in sorted(FAMILIES)])


@pytest.mark.parametrize(
    ("family", "parameter"),
    [(f.name, p.name) for f in FAMILIES.values() for p in f.parameters if p.role == "choice"],
)
def test_every_choice_of_a_family_has_its_own_intensity(client: httpx.Client, family: str, parameter: str) -> None:
    chosen = FAMILIES[family]
    (words,) = (p.choices for p in chosen.parameters if p.name == parameter)
    found = []
    for word in words:
        given = parameters(family) | {parameter: word}
        if parameter == "detail":
            given |= {"attachment_length_mm": 60.0, "attachment_thickness_mm": 10.0, "width_mm": 200.0}
        if family == "centre":
            given |= {"width_mm": 20.0}
        body = {"kind": "family", "family": family, "crack_size_mm": [2.0], "parameters": given}
        found.append(answer(client, "intensity", {"crack": body})["opening_mpa_sqrt_mm"][0])
        core = float(np.ravel(chosen.intensity(2.0, **given).k_mpa_sqrt_mm)[0])
        assert found[-1] == pytest.approx(core, rel=1e-14)
    all_differ(found)
