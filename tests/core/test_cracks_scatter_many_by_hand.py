"""Many cracks by hand: generators of chunks, ends of what is asked, what is said of the numbers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fatcore.cracks.driving.load_blocks import block_loading, constant_loading
from fatcore.cracks.scatter import monte_carlo
from fatcore.cracks.scatter.monte_carlo import ScatterOutcome, simulate_scatter
from fatcore.cracks.scatter.random_variables import Distribution
from fatcore.errors import InputError
from tests.core.test_cracks_scatter_by_hand import CRACK, INF, ONE, STEEL, STRESS, task


def run(**more: Any) -> ScatterOutcome:
    given = {"crack": CRACK, "stress": STRESS, "law": STEEL, "loading": constant_loading(), "last_depth_mm": 8.0}
    return simulate_scatter(**(given | {"variables": {"stress_factor": ONE}, "samples": 16} | more))


def codes(outcome: ScatterOutcome) -> set[str]:
    return {finding.code for finding in outcome.findings}


def test_chunks_have_a_generator_each() -> None:
    """4096 entries of a block times cracks a chunk, at least 64 cracks; generators are children of the seed."""
    wide = task(stress_factor=Distribution(kind="normal", mean=100.0, variation=0.001), last=0.6)
    drawn, _ = monte_carlo._run(wide, 4100, 5, 1)
    children = np.random.SeedSequence(5).spawn(2)
    expected = [
        np.random.default_rng(child).standard_normal(count) for child, count in zip(children, (4096, 4), strict=True)
    ]
    assert drawn["stress_factor"] == pytest.approx(100.0 + 0.1 * np.concatenate(expected))
    entries = np.linspace(0.9, 1.0, 100)
    long = wide._replace(drive=replace(wide.drive, loading=block_loading(entries, 0.0 * entries, entries)))
    drawn, _ = monte_carlo._run(long, 70, 5, 1)
    expected = [
        np.random.default_rng(child).standard_normal(count) for child, count in zip(children, (64, 6), strict=True)
    ]
    assert drawn["stress_factor"] == pytest.approx(100.0 + 0.1 * np.concatenate(expected))


def test_the_last_depth_lies_between_the_first_one_and_the_thickness() -> None:
    for wrong in (0.5, 0.4, 12.001):
        with pytest.raises(InputError, match="between the first depth and the thickness") as caught:
            run(last_depth_mm=wrong)
        assert caught.value.path == ("last_depth_mm",)
    assert run(last_depth_mm=0.501).mean_log_life is not None
    assert run(last_depth_mm=12.0).life_cycles == run(last_depth_mm=None).life_cycles
    deeper = {"depth_mm": Distribution(kind="fixed", mean=0.2)}
    assert run(variables=deeper, first_size="variables", last_depth_mm=0.4).mean_log_life is not None


@pytest.mark.parametrize(
    ("name", "inside", "outside"),
    [
        ("samples", 16, 15),
        ("seed", 0, -1),
        ("seed", 2**63 - 1, 2**64),
        ("workers", 1, 0),
        ("workers", 64, 65),
        ("quantiles", [0.5], []),
        ("quantiles", [0.5] * 100, [0.5] * 101),
    ],
)
def test_numbers_of_a_scatter_have_ends(name: str, inside: object, outside: object) -> None:
    assert run(**{name: inside}).samples == 16
    with pytest.raises(InputError, match=name):
        run(**{name: outside})


def test_ten_thousand_cracks_are_drawn_with_seed_one_when_nothing_is_said() -> None:
    plain = {"crack": CRACK, "stress": STRESS, "law": STEEL, "loading": constant_loading(), "last_depth_mm": 0.6}
    variables = {"last_coefficient_factor": Distribution(kind="lognormal", median=1.0, log_deviation=0.5)}
    outcome = simulate_scatter(**plain, variables=variables)  # type: ignore[arg-type]
    assert (outcome.samples, outcome.seed) == (10_000, 1)
    assert outcome.quantiles == (0.001, 0.01, 0.023, 0.1, 0.5)
    assert outcome.infinite_life_share == 0.0
    assert outcome.findings[-2].message.startswith("10000 cracks drawn")


def test_a_tail_of_fewer_than_ten_samples_is_hardly_known() -> None:
    def said(quantiles: list[float], samples: int) -> bool:
        return "few-samples-in-tail" in {
            f.code for f in monte_carlo._findings(np.array(quantiles), samples, np.ones(3))
        }

    assert not said([0.01], 1000)
    assert said([0.01], 999)
    assert not said([0.99], 1000)
    assert said([0.5, 0.991], 1000)


def test_cracks_that_are_at_their_end_from_the_start_are_counted() -> None:
    found = monte_carlo._findings(np.array([0.5]), 50, np.array([0.0, 3.0, 0.0, INF]))
    assert [(each.code, each.field, each.severity) for each in found] == [
        ("samples", None, "note"),
        ("first-size-beyond-end", "depth_mm", "caution"),
    ]
    assert found[0].message.startswith("50 cracks drawn")
    assert found[1].message.startswith("2 of the cracks drawn")


def test_what_is_doubtful_about_drawn_constants_is_said() -> None:
    one, many = np.ones(3), 63.0 * np.ones(3)

    def said(condition: Any = "as-welded", **drawn: Any) -> list[str]:
        return [each.code for each in monte_carlo._constant_findings(drawn, condition)]

    assert said(depth_mm=one) == []
    for name in ("first_coefficient_factor", "last_coefficient_factor"):
        assert said(**{name: one}) == ["mean-or-median"]
    both = {"first_coefficient_factor": one, "last_coefficient_factor": one}
    assert said(**both) == ["independent-stages", "mean-or-median"]
    assert said(threshold_mpa_sqrt_mm=many) == []
    assert said(threshold_mpa_sqrt_mm=1.001 * many) == ["high-threshold"]
    assert said("stress-relieved", threshold_mpa_sqrt_mm=1.001 * many) == []
    assert said(threshold_mpa_sqrt_mm=np.array([1.0, 1.0, 900.0])) == []


def test_a_law_of_no_table_gives_no_table() -> None:
    outcome = run()
    assert outcome.tables == CRACK.tables
    assert outcome.log_life_deviation == pytest.approx(0.0, abs=1e-9)
    assert outcome.mean_log_life == pytest.approx(np.log10(outcome.life_cycles[0] or np.nan))
    assert outcome.life_low_cycles == pytest.approx(outcome.life_cycles)
    assert outcome.life_high_cycles == pytest.approx(outcome.life_cycles)
    assert "samples" in codes(outcome)


def test_a_million_cracks_are_drawn_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    def counted(_: object, count: int, *more: object) -> None:
        raise NotImplementedError(str(count))

    monkeypatch.setattr(monte_carlo, "_run", counted)
    with pytest.raises(NotImplementedError, match="1000000"):
        run(samples=1_000_000)
    with pytest.raises(InputError, match="samples"):
        run(samples=1_000_001)
