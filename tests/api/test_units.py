"""Requests and answers in other units: converted by exact factors, or refused, and never guessed.

Factors: the international inch (25.4 mm) and pound-force (4.448 221 615 260 5 N) are exact by definition (the metre and
kilogram agreement of 1959; standard gravity 9.806 65 m/s^2), so is the degree Fahrenheit (5/9 K, 32 degF at 0 degC).
"""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Iterator
from decimal import Decimal
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import httpx
import pytest

from fatcore.cracks.intensity.families import FAMILIES
from service.base.envelope import canonical, evaluate, validated
from service.base.problems import Problem, pointer
from service.cli import main
from service.comparison.values import differences
from service.policy.walk import models_of
from service.topics.registry import find, load
from service.units import kinds
from service.units.answer import columns_in_units, in_units
from service.units.kinds import KINDS, kind_of, unit_of

from .policies import EXAMPLES, obeying, policy, request_of

CURVE = "iiw-2016-normal-steel-71"
INCH, POUND = 25.4, 4.4482216152605
KSI = 1000.0 * POUND / INCH**2
NEEDS = pytest.mark.skipif(find_spec("pint") is None, reason="the extra units is not installed")
EXACT = {
    ("length", "in"): INCH, ("length", "ft"): 12.0 * INCH, ("length", "cm"): 10.0, ("length", "m"): 1000.0,
    ("length", "um"): 1e-3,
    ("stress", "ksi"): KSI, ("stress", "psi"): KSI / 1000.0, ("stress", "pa"): 1e-6, ("stress", "kpa"): 1e-3,
    ("stress", "gpa"): 1e3,
    ("stress_intensity", "mpa_sqrt_m"): math.sqrt(1000.0), ("stress_intensity", "ksi_sqrt_in"): KSI * math.sqrt(INCH),
    ("growth_rate", "m_per_cycle"): 1000.0, ("growth_rate", "in_per_cycle"): INCH,
    ("stiffness", "kn_per_mm"): 1000.0, ("stiffness", "n_per_m"): 1e-3, ("stiffness", "lbf_per_in"): POUND / INCH,
    ("stiffness", "kip_per_in"): 1000.0 * POUND / INCH,
    ("moment", "nm"): 1000.0, ("moment", "knm"): 1e6, ("moment", "lbf_in"): POUND * INCH,
    ("moment", "kip_in"): 1000.0 * POUND * INCH,
    ("compliance", "mm_per_kn"): 1e-3, ("compliance", "in_per_lbf"): INCH / POUND,
    ("compliance", "in_per_kip"): INCH / (1000.0 * POUND),
    ("force", "kn"): 1000.0, ("force", "lbf"): POUND, ("force", "kip"): 1000.0 * POUND,
    ("stress_density", "ksi2_per_hz"): KSI**2,
    ("temperature", "fahrenheit"): 5.0 / 9.0, ("temperature", "kelvin"): 1.0,
    ("per_temperature", "per_fahrenheit"): 9.0 / 5.0,
    ("angle", "rad"): 180.0 / math.pi,
    ("time", "min"): 60.0, ("time", "h"): 3600.0,
}  # fmt: skip
OFFSET = {"fahrenheit": -160.0 / 9.0, "kelvin": -273.15}
POWERS_OF_TEN = {
    "length": "m", "stress": "gpa", "growth_rate": "m_per_cycle", "stiffness": "kn_per_mm", "moment": "nm",
    "compliance": "mm_per_kn", "force": "kn",
}  # fmt: skip


def examples(methods: tuple[str, ...], quantity: str | None = None) -> list[Path]:
    """Examples that are sent in such a way, and whose curve has this quantity where they have one."""
    found = []
    for path in sorted(EXAMPLES.glob("*/*.json")):
        shown = json.loads(path.read_text(encoding="utf-8"))
        of_quantity = quantity in (None, shown["response"]["answer"].get("quantity", quantity))
        if shown.get("method", "POST") in methods and of_quantity:
            found.append(path)
    return found


def refused(name: str, data: Any, method: str = "POST") -> tuple[str, str]:
    calculation = find(name, method)
    assert calculation is not None
    with pytest.raises(Problem) as caught:
        evaluate(calculation, data, strings=method == "GET")
    return caught.value.errors[0] if caught.value.errors else ("", caught.value.detail)


def answered(name: str, data: Any, method: str = "POST") -> Any:
    return obeying(None, name, data, method)  # type: ignore[arg-type]


def digest_of(name: str, data: Any) -> str:
    digest: str = answered(name, data).beside["record"]["input_digest"]
    return digest


# the table


@NEEDS
@pytest.mark.parametrize(("kind", "ending"), [(k.name, e) for k in KINDS.values() for e in k.others])
def test_every_factor_is_the_one_of_its_definition(kind: str, ending: str) -> None:
    unit = unit_of(kind, ending)
    assert float(unit.factor) == pytest.approx(EXACT[kind, ending], rel=1e-14)
    assert float(unit.offset) == pytest.approx(OFFSET.get(ending, 0.0), rel=1e-14)
    assert unit.from_core(unit.to_core(1.75)) == pytest.approx(1.75, rel=1e-15)


def test_every_factor_has_its_definition_here() -> None:
    assert {(kind.name, ending) for kind in KINDS.values() for ending in kind.others} == EXACT.keys()


@NEEDS
def test_what_a_person_writes_is_converted_to_what_a_person_would_write() -> None:
    inch = unit_of("length", "in")
    assert [inch.to_core(value) for value in (0.3, 0.1, 3, 1e-3)] == [7.62, 2.54, 76.2, 0.0254]
    assert inch.from_core(7.62) == 0.3


def test_a_name_has_the_quantity_of_its_longest_ending() -> None:
    names = {
        "toughness_mpa_sqrt_mm": "stress_intensity", "thickness_mm": "length", "rate_mm_per_cycle": "growth_rate",
        "grip_stiffness_nmm": "moment", "compliance_mm_per_n": "compliance", "temperature_celsius": "temperature",
    }  # fmt: skip
    assert {name: kind.name for name in names if (kind := kind_of(name))} == names
    assert [kind_of(name) for name in ("k1_mpa_mm_lambda", "energy_density_mj_m3", "slopes", "life_cycles")] == [
        None
    ] * 4


def quantities_inside(model: Any, seen: tuple[Any, ...] = ()) -> Iterator[tuple[str, str]]:
    """Fields with a unit in their name within a field that has one itself."""
    for name, info in model.model_fields.items():
        for inner in models_of(info.annotation):
            if kind_of(name) is not None:
                yield from ((name, below) for below in inner.model_fields if kind_of(below) is not None)
            if inner not in seen:
                yield from quantities_inside(inner, (*seen, inner))


def test_no_quantity_stands_within_another_so_that_none_is_converted_twice() -> None:
    for calculation in load().values():
        assert list(quantities_inside(calculation.request)) == []
        assert list(quantities_inside(calculation.answer)) == []


# requests


@pytest.mark.parametrize("ending", [["ksi"], {}, [], None, 7, True, {"ksi": 1}])
def test_a_unit_that_is_no_text_is_refused(ending: Any) -> None:
    where, said = refused("curves/life", {"curve": CURVE, "stress_range_mpa": 90.0, "units": {"stress": ending}})
    assert (where, said) == ("/units/stress", "must be a text: the ending of a unit")


@NEEDS
@pytest.mark.parametrize("path", examples(("POST",)), ids=lambda path: path.stem)
def test_every_example_in_other_units_has_the_digest_of_the_example(path: Any) -> None:
    example = json.loads(path.read_text(encoding="utf-8"))
    calculation = load()["POST", example["calculation"]]
    plain = validated(calculation, example["request"])
    wish = {kind: unit_of(kind, ending) for kind, ending in POWERS_OF_TEN.items()}
    other = in_units(calculation.request, example["request"], wish)
    assert canonical(validated(calculation, other)) == canonical(plain)


@NEEDS
def test_a_request_in_ksi_and_inches_is_the_one_in_mpa_and_mm() -> None:
    given = {"curve": CURVE, "stress_range_ksi": [10.0, 0.3]}
    core = {"curve": CURVE, "stress_range_mpa": [68.94757293168361, 2.0684271879505085]}
    assert digest_of("curves/life", given) == digest_of("curves/life", core)
    found = answered("curves/life", given)
    assert found.envelope()["answer"] == answered("curves/life", core).envelope()["answer"]
    said = [each["message"] for each in found.beside["findings"] if each["code"] == "units-converted"]
    assert said == ["given in other units and converted to those of the calculation: stress_range_ksi"]


@NEEDS
def test_a_check_takes_other_units_at_every_depth() -> None:
    core = request_of("check/one-toe-constant")
    wish = {"length": unit_of("length", "in"), "stress": unit_of("stress", "ksi")}
    calculation = load()["POST", "check"]
    given = in_units(calculation.request, core, wish)
    line = given["lines"][0]
    assert "position_in" in line
    assert "element_size_in" in line["mesh"]
    assert "peaks_ksi" in next(iter(line["cases"].values()))
    mine, other = answered("check", core).envelope()["answer"], answered("check", given).envelope()["answer"]
    assert other["utilisation"] == pytest.approx(mine["utilisation"], rel=1e-9)


@NEEDS
def test_names_of_the_caller_are_no_quantities() -> None:
    core = request_of("check/one-toe-constant")
    case = next(iter(core["lines"][0]["cases"]))
    text = json.dumps(core).replace(json.dumps(case), '"pull_in"')
    given = {**json.loads(text), "units": {"length": "in"}}
    found = answered("check", given)
    assert "pull_in" in found.request.lines[0].cases
    assert "position_in" in found.answered()["answer"]["lines"][0]


@NEEDS
def test_a_texts_of_a_url_are_converted_as_numbers() -> None:
    query = {"curve": CURVE, "stress_range_ksi": "10"}
    found = answered("curves/{curve}/life", query, "GET")
    assert found.request.stress_range_mpa == 68.94757293168361
    assert refused("curves/{curve}/life", {**query, "stress_range_ksi": "ten"}, "GET") == (
        "/stress_range_ksi",
        "must be a number, in ksi",
    )


@NEEDS
def test_temperatures_have_offsets_and_coefficients_have_none() -> None:
    core = request_of("trials/crack-length-potential")
    form = core["readings"]
    base = {key: value for key, value in form.items() if not key.startswith(("temperature", "reference_temperature"))}
    celsius = {**base, "temperature_celsius": [20.0] * len(form["potential_v"]), "reference_temperature_celsius": 20.0}
    fahrenheit = {
        **base,
        "temperature_fahrenheit": [68] * len(form["potential_v"]),
        "reference_temperature_kelvin": 293.15,
    }
    per = {"temperature_coefficient_per_k": 0.0036}, {"temperature_coefficient_per_fahrenheit": 0.002}
    calculation = load()["POST", "trials/crack-length"]
    one = validated(calculation, {**core, "readings": {**celsius, **per[0]}})
    other = validated(calculation, {**core, "readings": {**fahrenheit, **per[1]}})
    assert canonical(one) == canonical(other)


@NEEDS
def test_constants_of_a_law_are_those_of_their_unit_system_and_a_threshold_has_its_own() -> None:
    law = {"units": "m-MPa", "stages": [{"coefficient": 6.9e-12, "exponent": 3.0}]}
    core = {
        "crack": {"kind": "surface", "depth_mm": 0.508, "half_length_mm": 1.016, "thickness_mm": 12.7},
        "stress": {"membrane_mpa": 120.0},
        "law": {**law, "threshold_mpa_sqrt_mm": 63.24555320336759},
        "loading": {"kind": "constant", "maximum": 1.0, "minimum": 0.2},
    }
    given = {
        **core,
        "crack": {"kind": "surface", "depth_in": 0.02, "half_length_in": 0.04, "thickness_in": 0.5},
        "law": {**law, "threshold_mpa_sqrt_m": 2.0},
    }
    calculation = load()["POST", "cracks/growth"]
    one, other = validated(calculation, core), validated(calculation, given)
    assert other.law.stages == one.law.stages  # type: ignore[attr-defined]
    assert other.crack == one.crack  # type: ignore[attr-defined]
    assert other.law.threshold_mpa_sqrt_mm == pytest.approx(63.24555320336759, rel=1e-15)  # type: ignore[attr-defined]
    wrong = {**core, "law": {**law, "threshold_mpa_sqrt_in": 2.0}}
    assert refused("cracks/growth", wrong)[0] == "/law/threshold_mpa_sqrt_in"


@NEEDS
@pytest.mark.parametrize(
    ("changes", "place", "words"),
    [
        ({"stress_range_ksi": [10.0], "stress_range_mpa": [60.0]}, "/stress_range_ksi", "given in another unit too"),
        ({"stress_range_ksi": [10.0], "stress_range_psi": [60.0]}, "/stress_range_psi", "given in another unit too"),
        ({"stress_range_ksi": [-1.0]}, "/stress_range_ksi/0", "must be 0 or more"),
        ({"stress_range_ksi": [1e40]}, "/stress_range_ksi/0", "must be"),
        ({"stress_range_ksi": ["many"]}, "/stress_range_ksi", "must be a number, in ksi"),
        ({"stress_range_ksi": [True]}, "/stress_range_ksi/0", "must be a number"),
        ({"stress_range_ksi": {}}, "/stress_range_ksi", "must be a list"),
        ({"stress_range_in": [10.0]}, "/stress_range_in", "unknown key"),
        ({"stress_range_tsi": [10.0]}, "/stress_range_tsi", "unknown key"),
        ({"stress_range_mpa": [10.0], "units": {"stress": "in"}}, "/units/stress", "unknown unit 'in'"),
        ({"stress_range_mpa": [10.0], "units": {"strain": "ksi"}}, "/units/strain", "unknown quantity"),
        ({"stress_range_mpa": [10.0], "units": {"stress": 1}}, "/units/stress", "must be a text"),
        ({"stress_range_mpa": [10.0], "units": "ksi"}, "/units", "units are named by quantity"),
    ],
)
def test_what_cannot_be_converted_is_refused_where_it_was_given(changes: Any, place: str, words: str) -> None:
    where, message = refused("curves/life", {"curve": CURVE, **changes})
    assert (where, words in message) == (place, True), message


@NEEDS
def test_a_refusal_of_the_calculation_points_to_the_name_that_was_given() -> None:
    block = {"curve": CURVE, "range_ksi": [9.0, 8.0], "count": [1.0]}
    assert refused("spectrum/damage", block)[0] in ("/range_ksi", "/count")
    sd = {"frequency_hz": [1.0, 2.0], "density_ksi2_per_hz": [0.0, 0.0], "duration_h": 1.0, "curve": CURVE}
    assert refused("spectrum/random", sd)[0] == "/density_ksi2_per_hz"


def test_other_units_without_the_package_are_refused_in_plain_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pint", None)
    for cached in (kinds.unit_of, kinds._registry):
        cached.cache_clear()
    calculation = load()["POST", "curves/life"]
    with pytest.raises(Problem, match=r"pip install 'toeline\[units\]'") as caught:
        evaluate(calculation, {"curve": CURVE, "stress_range_ksi": [1.0]})
    assert (caught.value.status, caught.value.kind) == (503, "urn:toeline:units-not-installed")
    evaluate(calculation, {"curve": CURVE, "stress_range_mpa": [1.0], "units": {"stress": "mpa"}})


@NEEDS
def test_rules_of_a_policy_hold_for_requests_in_other_units() -> None:
    held = policy("[floors]\nhysteresis_threshold_mpa = 5")
    given = {"curve": CURVE, "history_ksi": [0.0, 9.0, 0.0], "hysteresis_threshold_ksi": 1.0}
    with pytest.raises(Problem, match=r"rule floors\.hysteresis_threshold_mpa") as caught:
        obeying(held, "spectrum/damage", given)
    assert caught.value.errors[0][0] == "/hysteresis_threshold_ksi"


# answers


@NEEDS
@pytest.mark.parametrize("path", examples(("GET", "POST"), "stress range"), ids=lambda path: path.stem)
def test_every_answer_of_an_example_is_shown_in_other_units(path: Any) -> None:
    example = json.loads(path.read_text(encoding="utf-8"))
    calculation = load()[example.get("method", "POST"), example["calculation"]]
    wish = {kind: unit_of(kind, ending) for kind, ending in POWERS_OF_TEN.items()}
    answer = example["response"]["answer"]
    shown = in_units(calculation.answer, answer, wish)
    assert len(json.dumps(shown).split()) == len(json.dumps(answer).split())
    back = {f"_{unit.ending}": unit for unit in wish.values()}
    assert names_of(answer, {}) == names_of(shown, back)
    left = {name for name in every_name(shown) if (kind := kind_of(name)) and kind.name in wish}
    assert left <= {"depth_mm"}  # name of a random variable, whose sensitivity has no unit


def names_of(data: Any, back: dict[str, Any]) -> Any:
    """The names of objects at any depth, those in other units as they are called here."""
    if isinstance(data, dict):
        return {
            next((k.removesuffix(e) + u.kind.ending for e, u in back.items() if k.endswith(e)), k): names_of(v, back)
            for k, v in data.items()
        }
    return [names_of(each, back) for each in data] if isinstance(data, list) else None


def every_name(data: Any) -> Iterator[str]:
    for each in data.values() if isinstance(data, dict) else data if isinstance(data, list) else ():
        yield from every_name(each)
    yield from data if isinstance(data, dict) else ()


@NEEDS
def test_an_answer_comes_in_the_units_that_are_asked_for() -> None:
    found = answered("curves/strength", {"curve": CURVE, "life_cycles": [2e6], "units": {"stress": "ksi"}})
    shown = json.loads(found.content())["answer"]
    assert shown == found.answered()["answer"]
    assert "stress_range_mpa" not in shown
    assert shown["stress_range_ksi"] == [pytest.approx(71.0 / KSI, rel=1e-12)]
    assert found.envelope()["answer"]["stress_range_mpa"] == [pytest.approx(71.0)]
    said = [each["message"] for each in found.beside["findings"] if each["code"] == "units-of-answer"]
    assert said[0].startswith("as data (JSON, CSV, a single value) the answer has stress in ksi; findings, tables of")


@NEEDS
def test_units_of_the_answer_do_not_change_the_digest() -> None:
    data = {"curve": CURVE, "life_cycles": [2e6]}
    assert digest_of("curves/strength", {**data, "units": {"stress": "ksi"}}) == digest_of("curves/strength", data)


@NEEDS
def test_the_curve_of_an_energy_is_refused_in_units_of_stress() -> None:
    calculation = load()["GET", "curves/{curve}"]
    with pytest.raises(Problem, match="energy density") as caught:
        evaluate(calculation, {"curve": "energy-density", "units": {"stress": "ksi"}})
    assert caught.value.errors[0][0] == "/units/stress"


def test_a_request_that_is_no_object_is_refused_as_ever() -> None:
    assert refused("curves/life", [])[1] == "the request must be an object with named values"


@NEEDS
def test_columns_of_a_table_are_named_by_their_units() -> None:
    wish = {"length": unit_of("length", "in")}
    columns = {"position_mm": [25.4, None], "line": ["a", "b"], "damage": [0.1, 0.2]}
    assert columns_in_units(columns, wish) == {
        **{k: v for k, v in columns.items() if k != "position_mm"},
        "position_in": [1.0, None],
    }


@NEEDS
def test_every_form_over_http_has_the_units_that_are_asked_for(client: httpx.Client) -> None:
    data = {"curve": CURVE, "life_cycles": [2e6], "units": {"stress": "ksi"}}
    url = "/v1/curves/strength"
    assert "stress_range_ksi" in client.post(url, json=data).json()["answer"]
    assert (
        client.post(url, json=data, headers={"Accept": "text/csv"}).text.split("\r\n")[0].count("stress_range_ksi") == 1
    )
    cell = client.post(f"{url}?only=answer.stress_range_ksi.0", json=data)
    assert float(cell.text) == pytest.approx(71.0 / KSI)
    item = {"id": 1, "calculation": "curves/strength", "input": data}
    line = json.loads(client.post("/v1/batch", json=[item]).text)
    assert "stress_range_ksi" in line["envelope"]["answer"]
    check = {**request_of("check/one-toe-constant"), "units": {"length": "in"}}
    table = client.post("/v1/check", json=check, headers={"Accept": "text/csv"}).text
    assert "position_in" in table.split("\r\n")[0]


def test_decimals_are_read_as_they_are_written() -> None:
    unit = kinds.Unit(KINDS["length"], "in", Decimal(0), Decimal("25.4"))
    assert unit.to_core(0.3) == 7.62


@NEEDS
def test_a_gate_reads_checks_in_other_units_and_leaves_the_units_of_the_answer_alone(tmp_path: Path) -> None:
    calculation = load()["POST", "check"]
    wish = {"length": unit_of("length", "in"), "stress": unit_of("stress", "ksi")}
    given = in_units(calculation.request, request_of("check/one-toe-constant"), wish)
    file, baseline = tmp_path / "check.json", str(tmp_path / "accepted.json")
    file.write_text(json.dumps({**given, "units": {"length": "in"}}), encoding="utf-8")
    assert main(["gate", str(file), "--baseline", baseline, "--write-baseline"]) == 0
    assert main(["gate", str(file), "--baseline", baseline]) == 0


# mappings whose keys are names of quantities


OF_CRACK, OF_SPECIMEN = ("crack", "parameters"), ("tests", 0, "specimen", "parameters")
NAMED: list[tuple[str, tuple[str | int, ...], dict[str, str]]] = [
    ("cracks/intensity-surface-front", OF_CRACK, {"half_length_mm": "half_length_um", "membrane_mpa": "membrane_ksi"}),
    ("cracks/intensity-surface-front", OF_CRACK, {"angle_deg": "angle_rad", "thickness_mm": "thickness_m"}),
    ("cracks/intensity-toe-growing", OF_CRACK, {"thickness_mm": "thickness_in", "half_length_mm": "half_length_in"}),
    ("cracks/intensity-edge-clamped", OF_CRACK, {"width_mm": "width_in"}),
    ("cracks/scatter-toe-crack", ("variables",), {"threshold_mpa_sqrt_mm": "threshold_mpa_sqrt_m"}),
    (
        "trials/growth-rate-plate",
        ("tests", 0, "specimen", "parameters"),
        {"width_mm": "width_cm", "force_n": "force_kn"},
    ),
]


def inside(data: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        data = data[step]
    return data


def named_in(unit: Any, value: Any) -> Any:
    """A number, some, or a random variable in another unit."""
    if isinstance(value, dict):
        return {key: unit.from_core(each) if key in ("mean", "median") else each for key, each in value.items()}
    return [*map(unit.from_core, value)] if isinstance(value, list) else unit.from_core(value)


@NEEDS
@pytest.mark.parametrize(("example", "path", "names"), NAMED, ids=[each[0] for each in NAMED])
def test_names_of_a_mapping_take_other_units(example: str, path: tuple[str | int, ...], names: dict[str, str]) -> None:
    data = json.loads((EXAMPLES / f"{example}.json").read_text(encoding="utf-8"))
    calculation = find(data["calculation"], "POST")
    assert calculation is not None
    plain = canonical(validated(calculation, data["request"]))
    here = inside(data["request"], path)
    for name, other in names.items():
        kind = kind_of(name)
        assert kind is not None
        unit = unit_of(kind.name, other.removeprefix(name.removesuffix(kind.ending) + "_"))
        here[other] = named_in(unit, here.pop(name))
    found = evaluate(calculation, data["request"])
    again = json.loads(canonical(found.request))
    assert [*differences(json.loads(plain), again)] == []
    assert [each["code"] for each in found.beside["findings"]].count("units-converted") == 1
    (other, *_) = names.values()
    (name, *_) = names
    here[name] = here[other]
    where, said = refused(data["calculation"], data["request"])
    assert (where, said) == (pointer([*path, other]), f"{other}: the same is given in another unit too")
    del here[name], here[other]
    here["none_in"] = 1.0
    where, said = refused(data["calculation"], data["request"])
    assert where.startswith(pointer(path))
    assert "none_in" in where + said or "needs" in said or "is needed" in said


@NEEDS
def test_what_is_wrong_with_a_name_of_a_mapping_is_said_of_the_name_that_was_given() -> None:
    crack = {"kind": "family", "family": "edge-clamped", "crack_size_mm": [6.0]}
    parameters = {"width_in": 0.1, "free_length_mm": 240.0, "membrane_mpa": 50.0}
    where, _ = refused("cracks/intensity", {"crack": {**crack, "parameters": parameters}})
    assert where in ("/crack/parameters/width_in", "/crack/crack_size_mm/0", "/crack/crack_size_mm")
    where, said = refused("cracks/intensity", {"crack": {**crack, "parameters": {**parameters, "width_in": "wide"}}})
    assert (where, said) == ("/crack/parameters/width_in", "must be a number, in in")
    variables = {"stress_factor_in": {"kind": "fixed", "mean": 1.0}}
    data = json.loads((EXAMPLES / "cracks/scatter-toe-crack.json").read_text(encoding="utf-8"))["request"]
    assert "stress_factor_in" in "".join(refused("cracks/scatter", {**data, "variables": variables}))


@NEEDS
def test_the_size_of_a_crack_that_is_an_angle_has_no_unit_of_length() -> None:
    (angular,) = [item for item in FAMILIES.values() if not item.size.endswith("_mm")]
    crack = {"kind": "family", "family": angular.name, "crack_size_in": [1.0], "parameters": {}}
    calculation = find("cracks/intensity", "POST")
    assert calculation is not None
    with pytest.raises(Problem) as caught:
        validated(calculation, {"crack": crack})
    assert dict(caught.value.errors)["/crack/crack_size_in"].startswith("unknown key")


# tables


@NEEDS
def test_a_table_is_in_mpa_and_its_query_in_any_unit() -> None:
    cycles, line = find("spectrum/cycles", "POST"), find("trials/sn-line", "POST")
    assert cycles is not None
    assert line is not None
    read = cycles.bodies["text/csv"]
    found = [
        evaluate(cycles, read(b"s [MPa]\n0\n90\n0\n", {f"range_edges_{unit}": edges})).envelope()["answer"]["classes"]
        for unit, edges in (("mpa", "[0, 50, 100]"), ("gpa", "[0, 0.05, 0.1]"))
    ]
    assert found[0] == found[1]
    for reader, table, where in (
        (read, b"stress_ksi\n0\n90\n0\n", "/columns"),
        (line.bodies["text/csv"], b"range_ksi,life_cycles\n9,1e5\n8,2e5\n", "/range_ksi"),
    ):
        with pytest.raises(Problem) as caught:
            reader(table, {})
        assert caught.value.errors[0][0] == where
