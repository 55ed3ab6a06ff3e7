"""Choices that alone make a pass, ranges no curve holds for, and words that one route says and another not."""

from __future__ import annotations

from typing import Any

import httpx
import pytest

DNV = "dnv-rp-c203-2016-d-air"
I71, I100 = "iiw-2016-normal-steel-71", "iiw-2016-normal-steel-100"
EN71 = "en-1993-1-9-2005-normal-71"
Found = dict[str, Any]


def posted(client: httpx.Client, name: str, request: dict[str, Any]) -> Found:
    reply = client.post(f"/v1/{name}", json=request)
    assert reply.status_code == 200, reply.text
    content: Found = reply.json()
    return content


def codes(found: Found, severity: str = "") -> set[str]:
    return {f["code"] for f in found["findings"] if f["severity"].startswith(severity)}


def message(found: Found, code: str) -> str:
    return " ".join(f["message"] for f in found["findings"] if f["code"] == code)


def damage(client: httpx.Client, curve: Any, *blocks: tuple[float, float], **more: Any) -> Found:
    spectrum = {"range_mpa": [r for r, _ in blocks], "count": [n for _, n in blocks]} if blocks else {}
    return posted(client, "spectrum/damage", {"curve": curve, **spectrum, **more})


def verdict(found: Found) -> tuple[str, bool]:
    """The verdict, and whether the choices of the caller are said to decide."""
    return found["answer"]["verdict"], "choices-decide" in codes(found, "outside")


def line(normal_mpa: list[float], name: str = "n", **more: Any) -> dict[str, Any]:
    case = {"normal_mpa": normal_mpa, **more}
    return {
        "name": name,
        "basis": "nominal",
        "position_mm": [10.0 * k for k in range(len(normal_mpa))],
        "cases": {"a": case},
    }


def constant(cycles: float) -> dict[str, Any]:
    return {"kind": "constant", "factors": {"a": {"maximum": 1.0, "minimum": 0.0}}, "cycles": cycles}


def blocks(*given: tuple[float, float]) -> dict[str, Any]:
    each = [{"factors": {"a": {"maximum": top, "minimum": 0.0}}, "cycles": n} for top, n in given]
    return {"kind": "blocks", "blocks": each, "transitions": "in-entries"}


def check(client: httpx.Client, lines: Any, loading: Any, curves: dict[str, Any], **target: Any) -> Found:
    lines = lines if isinstance(lines, list) else [lines]
    request = {"lines": lines, "loading": loading, "curves": {"rule": "fixed", **curves}, "target": target}
    return posted(client, "check", request)


def own(name: str, factor: float) -> dict[str, Any]:
    return {"kind": "own", "name": name, "strength_factor": factor, "reason": "tests of ours"}


def iiw_factor(concept: str = "fail-safe", consequence: str = "loss-of-secondary-part") -> dict[str, Any]:
    return {"kind": "partial-factor", "document": "iiw-2016", "concept": concept, "consequence": consequence}


EN_FACTOR = {
    "kind": "partial-factor",
    "document": "en-1993-1-9-2005",
    "concept": "damage-tolerant",
    "consequence": "low-consequence",
}


# choices that alone make a pass

BLOCK = (80.0, 3.5e6)


def test_a_survival_below_that_of_the_document_decides_no_damage(client: httpx.Client) -> None:
    assert verdict(damage(client, DNV, BLOCK)) == ("fail", False)
    found = damage(client, DNV, BLOCK, survival_probability=0.5)
    assert verdict(found) == ("undecided", True)
    assert "survival_probability 0.5" in message(found, "choices-decide")
    assert verdict(damage(client, DNV, (80.0, 1e6), survival_probability=0.5)) == ("pass", False)
    assert verdict(damage(client, DNV, (80.0, 9e6), survival_probability=0.5)) == ("fail", False)
    assert verdict(damage(client, DNV, (80.0, 2e6), survival_probability=0.99)) == ("pass", False)


def test_a_survival_below_that_of_the_document_decides_no_check(client: httpx.Client) -> None:
    curves = {"curve": I71, "corrections": [iiw_factor()]}
    assert verdict(check(client, line([95.0]), constant(1e6), curves)) == ("fail", False)
    assert verdict(check(client, line([95.0]), constant(1e6), curves, survival_probability=0.9)) == ("undecided", True)
    assert verdict(check(client, line([60.0]), constant(1e6), curves, survival_probability=0.9)) == ("pass", False)


HISTORY = {"history_mpa": [-100.0, 50.0, -100.0], "repeats": 9e5}


@pytest.mark.parametrize("choice", ["low-residual-stress", "compression-in-part"])
def test_a_bonus_for_the_mean_stress_decides_no_history(client: httpx.Client, choice: str) -> None:
    assert verdict(damage(client, DNV, **HISTORY)) == ("fail", False)
    repeats = {"low-residual-stress": 9e5, "compression-in-part": 6e5}[choice]
    found = damage(client, DNV, **HISTORY | {"repeats": repeats}, mean_stress=choice)
    assert verdict(found) == ("undecided", True)
    assert f"mean_stress {choice}" in message(found, "choices-decide")


def test_a_bonus_by_a_correction_is_said_and_decides_no_block(client: httpx.Client) -> None:
    bonus = {"kind": "mean-stress", "residual_stress": "low", "load_ratio": [-2.0]}
    assert verdict(damage(client, DNV, (150.0, 9e5))) == ("fail", False)
    found = damage(client, DNV, (150.0, 9e5), corrections=[bonus])
    assert verdict(found) == ("undecided", True)
    assert "mean-stress-bonus" in codes(found, "caution")
    assert verdict(damage(client, DNV, (150.0, 3e5), corrections=[bonus])) == ("pass", False)
    assert verdict(damage(client, DNV, (150.0, 9e6), corrections=[bonus])) == ("fail", False)


def test_a_factor_of_ones_own_that_strengthens_decides_nothing(client: httpx.Client) -> None:
    blasted = own("blasting", 1.3)
    corrections = [iiw_factor(), blasted]
    assert verdict(damage(client, I71, (80.0, 1.3e6), corrections=corrections[:1])) == ("fail", False)
    found = damage(client, I71, (80.0, 1.3e6), corrections=corrections)
    assert verdict(found) == ("undecided", True)
    assert "blasting 1.3" in message(found, "choices-decide")
    curves = {"curve": I71, "corrections": corrections}
    assert verdict(check(client, line([80.0]), constant(2e6), curves)) == ("undecided", True)
    assert verdict(check(client, line([60.0]), constant(2e6), curves)) == ("pass", False)
    assert verdict(check(client, line([120.0]), constant(2e6), curves)) == ("fail", False)


def test_a_factor_of_ones_own_is_bounded_by_the_largest_bonus_of_the_documents(client: httpx.Client) -> None:
    def seen(factor: float) -> Found:
        return damage(client, DNV, (20.0, 1e5), corrections=[own("blasting", factor)])

    assert verdict(seen(1.67)) == ("pass", False)
    found = seen(1.7)
    assert found["answer"]["verdict"] == "undecided"
    assert "1.67" in message(found, "relieving-factor")


@pytest.mark.parametrize("name", ["partial factor", "Partial-Factor", "partial_safety factor", "γ_Mf"])
def test_a_partial_factor_of_ones_own_strengthens_nothing(client: httpx.Client, name: str) -> None:
    found = damage(client, I71, (20.0, 1e5), corrections=[own(name, 1.05)])
    assert found["answer"]["verdict"] == "undecided"
    assert "divide strengths by 1 or more" in message(found, "relieving-factor")
    assert damage(client, I71, (20.0, 1e5), corrections=[own(name, 0.9)])["answer"]["verdict"] == "pass"


@pytest.mark.parametrize("choice", [{"damage_limit": 1.0}, {"damage_limit_rule": "en-1993-1-9-2005/design"}])
def test_a_damage_limit_above_that_of_the_curves_document_decides_nothing(
    client: httpx.Client, choice: dict[str, Any]
) -> None:
    loading, curves = blocks((1.0, 4e5), (0.9, 1e5)), {"curve": I71, "corrections": [iiw_factor()]}
    assert verdict(check(client, line([95.0]), loading, curves)) == ("fail", False)
    found = check(client, line([95.0]), loading, curves, **choice)
    assert verdict(found) == ("undecided", True)
    assert "damage_limit" in message(found, "choices-decide")
    assert verdict(check(client, line([60.0]), loading, curves, **choice)) == ("pass", False)
    asked = {"corrections": [iiw_factor()], **choice}
    found = damage(client, I71, (80.0, 9e5), **asked)
    assert verdict(found) == ("undecided", True)
    assert "against a limit of 0.5" in message(found, "choices-decide")
    assert verdict(damage(client, I71, (80.0, 3e5), **asked)) == ("pass", False)


def test_choices_that_decide_only_together_decide_nothing(client: httpx.Client) -> None:
    """Neither the survival nor the factor that is missing takes the damage over its limit; both do."""
    bare = {"curve": EN71, "loading": "constant"}
    alone = damage(client, **bare, range_mpa=[71.0], count=[7.5e5], corrections=[EN_FACTOR], survival_probability=0.9)
    assert verdict(alone) == ("pass", False)
    assert damage(client, **bare, range_mpa=[71.0], count=[7.5e5])["answer"]["verdict"] == "pass"
    both = damage(client, **bare, range_mpa=[71.0], count=[8.5e5], survival_probability=0.9)
    assert "damage-without-partial-factor" in codes(both, "outside")


# the partial factor of the document


def test_a_factor_that_is_none_of_the_document_silences_nothing(client: httpx.Client) -> None:
    curves = {"curve": EN71}
    found = check(client, line([64.0]), constant(2e6), curves, resistance_factor=1.0001)
    assert found["answer"]["verdict"] == "undecided"
    assert "1.35, of which 1.0001 was applied" in message(found, "partial-factor-decides")
    found = check(client, line([100.0]), constant(1e6), {"curve": I100}, resistance_factor=1.0001)
    assert found["answer"]["verdict"] == "undecided"
    found = check(client, line([58.0]), constant(2e6), curves, resistance_factor=1.15)
    assert found["answer"]["verdict"] == "pass"
    assert "partial-factor-decides" not in codes(found)


def test_a_partial_factor_of_another_document_counts_by_its_size(client: httpx.Client) -> None:
    curves = {"curve": EN71, "corrections": [iiw_factor()]}
    assert check(client, line([64.0]), constant(2e6), curves)["answer"]["verdict"] == "undecided"
    curves = {"curve": EN71, "corrections": [iiw_factor("safe-life", "loss-of-life")]}
    found = check(client, line([50.0]), constant(2e6), curves)
    assert found["answer"]["verdict"] == "pass"
    assert "documents-mixed" in codes(found, "caution")
    for named in (EN_FACTOR, own("Partial-Factor", 1.0)):
        found = check(client, line([64.0]), constant(2e6), {"curve": EN71, "corrections": [named]})
        assert found["answer"]["verdict"] == "pass"
    found = damage(client, EN71, (64.0, 2e6), loading="constant", corrections=[iiw_factor()])
    assert "damage-without-partial-factor" in codes(found, "outside")


# cycles so large that no curve holds for them


def test_cycles_of_short_life_are_outside_whatever_else_happens(client: httpx.Client) -> None:
    for more in ([], [(10.0, 1e7)], [(1.0, 1e9)]):
        found = damage(client, DNV, (1000.0, 400.0), *more)
        assert found["answer"]["verdict"] == "undecided"
        assert "life-cycles-outside" in codes(found, "outside")
        found = damage(client, I100, (700.0, 500.0), *more, corrections=[iiw_factor()])
        assert found["answer"]["verdict"] == "undecided"
    loading = blocks((1.0, 500.0), (0.01, 1e7))
    assert (
        check(client, line([700.0]), loading, {"curve": I100, "corrections": [iiw_factor()]})["answer"]["verdict"]
        == "undecided"
    )
    loading = blocks((1.0, 1.0), (50.0 / 900.0, 1e5))
    found = check(client, line([900.0]), loading, {"curve": I71, "corrections": [iiw_factor()]})
    assert (found["answer"]["verdict"], "life-cycles-outside" in codes(found, "outside")) == ("undecided", True)
    assert damage(client, DNV, (1000.0, 4000.0), (10.0, 1e7))["answer"]["verdict"] == "fail"


def test_one_cycle_of_short_life_that_uses_next_to_nothing_is_a_caution(client: httpx.Client) -> None:
    """600 MPa: 6,754 cycles by 10^12.164 / range^3; one of them uses 0.015 % of a limit of 1."""
    found = damage(client, DNV, (600.0, 1.0), (10.0, 1e7))
    assert found["answer"]["verdict"] == "pass"
    assert "few-cycles-of-short-life" in codes(found, "caution")
    curves = {"curve": I71, "corrections": [iiw_factor()]}
    found = check(client, line([455.0]), blocks((1.0, 1.0), (0.1, 1e5)), curves)
    assert found["answer"]["verdict"] == "pass"
    assert "few-cycles-of-short-life" in codes(found, "caution")


@pytest.mark.parametrize(("yielding", "largest"), [(None, 3000.0), (250.0, 600.0)])
def test_a_range_above_twice_the_yield_strength_is_outside_everywhere(
    client: httpx.Client, yielding: float | None, largest: float
) -> None:
    given = {} if yielding is None else {"yield_strength_mpa": yielding}
    code = "range-beyond-yield"
    for found in (
        damage(client, DNV, (largest, 1e-3), (50.0, 1e4), **given),
        check(client, line([largest]), blocks((1.0, 1e-3), (0.01, 1e4)), {"curve": I71, **given}),
        posted(client, "curves/life", {"curve": DNV, "stress_range_mpa": [largest, 50.0], **given}),
        posted(client, "spectrum/long-term", long_term(largest, **given)),
    ):
        assert code in codes(found, "outside")
        assert found["answer"].get("verdict", "undecided") != "pass"
    assert code not in codes(damage(client, DNV, (500.0, 1e-3), **given))


def long_term(largest: float, curve: Any = DNV, shape: float = 0.5, cycles: float = 1e8, **more: Any) -> dict[str, Any]:
    spectrum = {"largest_range_mpa": largest, "reference_cycles": cycles, "shape_exponent": shape}
    return {"curve": curve, **spectrum, **more}


def test_ranges_of_short_life_of_a_distribution_are_outside(client: httpx.Client) -> None:
    found = posted(client, "spectrum/long-term", long_term(900.0, cycles=1e5))
    assert found["answer"]["damage"] < found["answer"]["damage_limit"]
    assert "life-cycles-outside" in codes(found, "outside")
    assert "life-cycles-outside" not in codes(posted(client, "spectrum/long-term", long_term(300.0, shape=1.0)))


# one verdict for every route that answers a damage and its limit


def test_a_missing_partial_factor_decides_no_distribution(client: httpx.Client) -> None:
    found = posted(client, "spectrum/long-term", long_term(280.0, I71, 1.0, 1e7))
    assert found["answer"]["damage"] == pytest.approx(0.3971, rel=1e-3)
    assert found["answer"]["verdict"] == "undecided"
    assert "damage-without-partial-factor" in codes(found, "outside")
    named = long_term(280.0, I71, 1.0, 1e7, corrections=[iiw_factor()])
    assert posted(client, "spectrum/long-term", named)["answer"]["verdict"] == "pass"
    named["largest_range_mpa"] = 320.0
    assert posted(client, "spectrum/long-term", named)["answer"]["verdict"] == "fail"
    assert verdict(posted(client, "spectrum/long-term", named | {"damage_limit": 1.0})) == ("undecided", True)


def density(level: float, curve: str = I71, **more: Any) -> dict[str, Any]:
    shape = {"frequency_hz": [1.0, 2.0, 8.0, 9.0], "density_mpa2_per_hz": [0.0, level, level, 0.0]}
    return {"curve": curve, **shape, "duration_s": 1e6, **more}


def test_random_stress_has_a_verdict_where_its_methods_agree(client: httpx.Client) -> None:
    corrections = [iiw_factor()]

    def answered(level: float, **more: Any) -> Found:
        return posted(client, "spectrum/random", density(level, **{"corrections": corrections, **more}))

    sums = [value for value in answered(20.0)["answer"]["damage"].values() if value is not None]
    between = 0.5 * (min(sums) + max(sums))
    assert answered(20.0, damage_limit=0.9 * min(sums))["answer"]["verdict"] == "fail"
    found = answered(20.0, damage_limit=between)
    assert found["answer"]["verdict"] == "undecided"
    assert "methods-disagree" in codes(found, "outside")
    found = answered(20.0, damage_limit=min(0.5, 1.1 * max(sums)))
    assert found["answer"]["verdict"] == "pass"
    found = answered(20.0, damage_limit=min(0.5, 1.1 * max(sums)), corrections=[])
    assert found["answer"]["verdict"] == "undecided"
    assert "damage-without-partial-factor" in codes(found, "outside")
    assert verdict(answered(20.0, damage_limit=0.9 * min(sums), survival_probability=0.5)) == ("undecided", True)


# ranges that look like another unit


def test_ranges_that_look_like_another_unit_leave_no_verdict_in_any_route(client: httpx.Client) -> None:
    for found in (
        damage(client, I71, (0.5, 1e9), corrections=[iiw_factor()]),
        posted(client, "spectrum/long-term", long_term(0.28, I71, 1.0, 1e7)),
        posted(client, "spectrum/random", density(1e-5)),
        check(client, line([0.5]), constant(1e9), {"curve": I71, "corrections": [iiw_factor()]}),
    ):
        assert found["answer"]["verdict"] == "undecided"
        assert "ranges-too-small" in codes(found, "outside")


SHEARED = {"curve": EN71, "shear_curve": "en-1993-1-9-2005-shear-80", "corrections": [EN_FACTOR]}


def test_a_line_in_another_unit_is_undecided_beside_others_and_with_shear(client: httpx.Client) -> None:
    curves = {"curve": EN71, "corrections": [EN_FACTOR]}
    found = check(client, [line([60.0], "a"), line([0.1], "b")], constant(1e6), curves)
    assert found["answer"]["verdict"] == "undecided"
    assert found["answer"]["deciding_lines"] == ["b"]
    found = check(client, line([0.15], shear_mpa=[0.1]), constant(1e6), SHEARED)
    assert found["answer"]["verdict"] == "undecided"
    assert "0.15 MPa" in message(found, "ranges-too-small")


def test_a_case_or_a_component_in_another_unit_is_doubted(client: httpx.Client) -> None:
    found = check(client, line([40.0], shear_mpa=[0.06]), constant(1e6), SHEARED)
    assert "shear stress: the largest range is 0.06 MPa" in message(found, "component-small")
    two = line([60.0])
    two["cases"]["b"] = {"normal_mpa": [0.06]}
    loading = constant(1e6)
    loading["factors"]["b"] = {"maximum": 1.0, "minimum": 0.0}
    found = check(client, two, loading, {"curve": EN71, "corrections": [EN_FACTOR]})
    assert "load case b by itself: the largest range is 0.06 MPa" in message(found, "load-case-small")
    two["cases"]["b"] = {"normal_mpa": [6.0]}
    found = check(client, two, loading, {"curve": EN71, "corrections": [EN_FACTOR]})
    assert "load-case-small" not in codes(found)


# forms below the knee that no document states

CUT = {"range_mpa": [281.0], "life_cycles": [1e4], "slopes": [3.0], "cut_off_cycles": 10_001.0}
FLAT = {"range_mpa": [281.0], "life_cycles": [1e4], "slopes": [3.0, 50.0], "knee_cycles": [10_001.0]}
USUAL = {"range_mpa": [281.0], "life_cycles": [1e4], "slopes": [3.0, 5.0], "knee_cycles": [1e6]}


@pytest.mark.parametrize(
    ("curve", "block"),
    [(CUT, (280.0, 1e9)), (FLAT, (200.0, 1e6)), (CUT | {"cut_off_cycles": 2e6}, (45.0, 1e9))],
)
def test_a_form_below_the_knee_of_ones_own_decides_nothing(
    client: httpx.Client, curve: dict[str, Any], block: tuple[float, float]
) -> None:
    found = damage(client, curve, block)
    assert verdict(found) == ("undecided", True)
    assert "no document states" in message(found, "choices-decide")
    assert verdict(damage(client, curve, (block[0], 1e-3))) == ("pass", False)


def test_a_cut_off_of_ones_own_decides_nothing_in_any_route(client: httpx.Client) -> None:
    loading = blocks((1.0, 1e9), (0.9, 1e9))
    assert verdict(check(client, line([200.0]), loading, {"curve": CUT})) == ("undecided", True)
    found = posted(client, "spectrum/long-term", long_term(180.0, CUT, 10.0, 1e9))
    assert verdict(found) == ("undecided", True)
    shape = {"frequency_hz": [1.0, 2.0, 8.0, 9.0], "density_mpa2_per_hz": [0.0, 20.0, 20.0, 0.0]}
    found = posted(client, "spectrum/random", {"curve": CUT, **shape, "duration_s": 1e9})
    assert verdict(found) == ("undecided", True)


def test_a_usual_curve_of_ones_own_keeps_its_form(client: httpx.Client) -> None:
    assert verdict(damage(client, USUAL, (40.0, 1e6))) == ("pass", False)
    found = damage(client, CUT, (40.0, 1e9), loading="constant")
    assert verdict(found) == ("pass", False)


# stresses with their mean against the yield strength


@pytest.mark.parametrize(
    ("mean", "code", "severity", "seen"),
    [
        (0.0, None, "", "pass"),
        (400.0, "stress-above-yield", "caution", "pass"),
        (5050.0, "stress-beyond-yield", "outside", "undecided"),
        (-5050.0, "stress-beyond-yield", "outside", "undecided"),
    ],
)
def test_the_extremes_of_a_history_are_compared_with_the_yield_strength(
    client: httpx.Client, mean: float, code: str | None, severity: str, seen: str
) -> None:
    given = {"yield_strength_mpa": 355.0}
    ends = [mean - 25.0, mean + 25.0]
    states = {"kind": "constant", "factors": {"a": {"maximum": ends[1], "minimum": ends[0]}}, "cycles": 1e4}
    recorded = {"kind": "history", "channels": {"a": [*ends, ends[0]]}}
    curves = {"curve": DNV, **given}
    for found in (
        damage(client, DNV, history_mpa=[*ends, ends[0]], **given),
        damage(client, DNV, modes_mpa={"a": [*ends, ends[0]]}, weights={"a": 1.0}, **given),
        check(client, line([1.0]), states, curves),
        check(client, line([1.0]), recorded, curves),
    ):
        said = {each for each in codes(found) if each.startswith("stress-") and "yield" in each}
        assert said == (set() if code is None else {code})
        assert code is None or code in codes(found, severity)
        assert found["answer"]["verdict"] == seen
