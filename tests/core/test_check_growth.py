"""Growth of the crack at the governing station: load cases on one shape, blocks, histories, refusals."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fatcore.check import growth_part
from fatcore.check.growth_part import CrackStart, StartedGrowth, grow_from_station
from fatcore.check.loading import Block, BlockLoading, HistoryLoading, Loading, LoadState
from fatcore.check.strength.resistance import Target
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving.law import paris
from fatcore.cracks.driving.load_blocks import constant_loading
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import grow
from fatcore.errors import InputError

DEPTH = np.linspace(0.0, 10.0, 21)
LINEAR = 10.0 * (1.0 - DEPTH / 8.0)
START = CrackStart(
    distance_mm=DEPTH,
    path_mpa={"pull": LINEAR, "side": 0.5 * LINEAR, "cross": 10.0 * (DEPTH / 10.0) ** 2},
    crack=SurfaceCrack(depth_mm=0.5, half_length_mm=1.0, thickness_mm=10.0),
    law=paris(5.21e-13, 3.0),
    end=EndCriteria(depth_mm=5.0),
)


def blocks(*entries: tuple[float, dict[str, tuple[float, float]]]) -> BlockLoading:
    return BlockLoading(
        blocks=tuple(
            Block(
                factors={name: LoadState(maximum=top, minimum=low) for name, (top, low) in factors.items()},
                cycles=n,
            )
            for n, factors in entries
        )
    )


def started(loading: Loading, factor: float = 1.0, **changes: Any) -> StartedGrowth:
    return grow_from_station(replace(START, **changes), loading, Target(load_factor=factor), "as-welded")


def test_one_case_is_growth_under_its_own_path() -> None:
    direct = grow(
        crack=START.crack,
        stress=Stress(distance_mm=tuple(DEPTH), stress_mpa=tuple(LINEAR)),
        law=START.law,
        loading=constant_loading(12.0, 1.0),
        end=START.end,
    )
    found = started(blocks((1.0, {"pull": (12.0, 1.0)})))
    assert found.grown.life_cycles == pytest.approx(direct.life_cycles, rel=1e-9)
    assert found.life_repeats == pytest.approx(direct.life_cycles, rel=1e-9)
    assert found.shape_ratio == pytest.approx(0.0, abs=1e-12)


def test_cases_of_one_shape_add_before_growth() -> None:
    together = started(blocks((1.0, {"pull": (10.0, 0.0), "side": (6.0, 0.0)})))
    alone = started(blocks((1.0, {"pull": (13.0, 0.0)})))
    assert together.grown.life_cycles == pytest.approx(alone.grown.life_cycles, rel=1e-9)
    against = started(blocks((1.0, {"pull": (10.0, 0.0), "side": (-6.0, 0.0)})))
    assert against.grown.life_cycles is not None
    assert together.grown.life_cycles is not None
    assert against.grown.life_cycles > together.grown.life_cycles


def test_load_factor_shortens_life_by_its_cube() -> None:
    base = started(blocks((1.0, {"pull": (10.0, 0.0)}))).grown.life_cycles
    double = started(blocks((1.0, {"pull": (10.0, 0.0)})), factor=2.0).grown.life_cycles
    assert base is not None
    assert double == pytest.approx(base / 8.0, rel=1e-6)


def test_history_counts_in_order_and_equals_its_blocks() -> None:
    history = HistoryLoading(channels={"pull": np.array([0.0, 10.0, 2.0, 8.0, 0.0])})
    from_history = started(history)
    from_blocks = started(blocks((1.0, {"pull": (8.0, 2.0)}), (1.0, {"pull": (10.0, 0.0)})))
    assert from_history.life_repeats == pytest.approx(from_blocks.life_repeats, rel=1e-4)


def test_paths_of_several_shapes_are_told() -> None:
    mixed = started(blocks((1.0, {"pull": (10.0, 0.0)}), (1.0, {"cross": (10.0, 0.0)})))
    assert mixed.shape_ratio > 0.05
    assert any(f.code == "paths-of-several-shapes" for f in mixed.findings)
    assert any(f.code == "lives-not-added" for f in mixed.findings)


def test_compression_at_the_surface_keeps_its_sign() -> None:
    pressed = started(blocks((1.0, {"pull": (-1.0, -11.0)})))
    pulled = started(blocks((1.0, {"pull": (11.0, 1.0)})))
    assert pressed.grown.life_cycles == pytest.approx(pulled.grown.life_cycles, rel=1e-6)  # as-welded: full range


def test_a_toe_footprint_on_a_path_is_doubtful() -> None:
    crack = SurfaceCrack(depth_mm=0.5, half_length_mm=1.0, thickness_mm=10.0, toe_footprint_mm=20.0)
    found = started(blocks((1.0, {"pull": (10.0, 0.0)})), crack=crack)
    assert any(f.code == "toe-counted-twice" for f in found.findings)


def test_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(InputError, match="no load case"):
        started(blocks((1.0, {"push": (1.0, 0.0)})))
    with pytest.raises(InputError, match="depths"):
        started(blocks((1.0, {"pull": (1.0, 0.0)})), path_mpa={"pull": LINEAR[:-1]})
    with pytest.raises(InputError, match="no stress"):
        started(blocks((1.0, {"pull": (0.0, 0.0)})))
    monkeypatch.setattr(growth_part, "MAX_ENTRIES", 1)
    with pytest.raises(InputError, match="cycles"):
        started(HistoryLoading(channels={"pull": np.array([0.0, 10.0, 2.0, 8.0, 0.0])}))


@pytest.mark.parametrize("noise", [0.0, 1e-14])
def test_factors_without_a_range_in_any_block_are_refused(noise: float) -> None:
    """Rounding of the dominant shape is no range; between blocks of different levels there is one."""
    held = blocks((1.0, {"pull": (10.0, 10.0)}), (5.0, {"pull": (3.0, 3.0)}))
    ends = np.array([100.0 * (1.0 + noise), 100.0, 30.0, 30.0])
    with pytest.raises(InputError, match="no block has a range"):
        growth_part._entries(replace(held, transitions="in-entries"), ends)
    with pytest.raises(InputError, match="no block has a range"):
        growth_part._entries(held, np.array([30.0 * (1.0 + noise), 30.0, 30.0, 30.0]))
    between = growth_part._entries(held, ends)
    assert float(np.max(between.maximum - between.minimum)) == pytest.approx(70.0)


def test_a_history_that_only_rounding_moves_is_refused() -> None:
    still = HistoryLoading(channels={"pull": np.array([1.0, 1.0, 1.0])})
    with pytest.raises(InputError, match="the history has no range"):
        growth_part._entries(still, np.array([30.0, 30.0 * (1.0 + 1e-14), 30.0]))
