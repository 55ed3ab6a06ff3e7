"""Integration of growth against closed forms: rates that are powers of the size, that jump, rest or run away.

da/dN = C a^p gives a^(1 - p) = a0^(1 - p) - (p - 1) C N; two lengths with rates of their own are two such lines.
The bound is the one that `integrate` states: the tolerance is the relative error of the cycles a step may have.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from numpy.polynomial import legendre
from scipy.integrate import quad

from fatcore.cracks.growth.integration import integrate as module
from fatcore.cracks.growth.integration._collocation import (
    AT_NODES,
    INTEGRAL,
    NODES,
    T,
    basis_at,
    integral_error,
    series_at,
)
from fatcore.cracks.growth.integration._step import LogRates, State, Step, Termination
from fatcore.cracks.growth.integration.integrate import SHORTEST_STEP, integrate, shorten
from fatcore.errors import NotConvergedError

Rate = Callable[[Any], Any]


class Problem:
    """Rates per cycle of depth and length as functions of the size; jumps and slopes of compliance where given."""

    def __init__(self, depth: Rate, length: Rate | None = None, jump: float | None = None, slopes: Any = None) -> None:
        self.depth, self.length, self.jump, self.slopes = depth, length, jump, slopes
        self.two_lengths, self.shares = length is not None, slopes is not None
        self.slowed_by: Rate = lambda added: 1.0

    def log_rates(self, depth: Any, length: Any, compliance: Any) -> LogRates:
        slow = self.slowed_by(compliance)
        both = self.length is not None
        return LogRates(self.depth(depth) / depth * slow, self.length(length) / length * slow if both else None)  # type: ignore[misc]

    def events(self, depth: Any, length: Any, compliance: Any) -> Any:
        return None if self.jump is None else np.log(depth / self.jump)[None]

    def compliance_slopes(self, depth: Any, length: Any) -> tuple[Any, Any]:
        return self.slopes(depth, length)  # type: ignore[no-any-return]


def start(depth: float, length: float | None = None, cycles: float = 0.0, added: int = 0) -> State:
    place = np.log(depth) + (0.0 if length is None else np.log(length))
    return State(float(place), float(np.log(depth)), cycles, np.zeros(added), 1.0)


def walked(
    problem: Problem, first: State, last: float, tolerance: float = 1e-7
) -> tuple[list[Step], Termination | None]:
    """Steps until the depth has passed the last one, and the termination if there is one before."""
    steps: list[Step] = []
    for item in integrate(problem, first, tolerance, last):  # type: ignore[arg-type]
        if isinstance(item, Termination):
            return steps, item
        steps.append(item)
        if np.exp(item.end().log_depth) >= last:
            break
    return steps, None


def after(size: float, first: float, c: float, p: float) -> float:
    """Cycles from a first size to another of da/dN = c a^p."""
    return float((size ** (1.0 - p) - first ** (1.0 - p)) / ((1.0 - p) * c))


@pytest.mark.parametrize("tolerance", [1e-4, 1e-7, 1e-10])
@pytest.mark.parametrize("p", [0.5, 1.5, 2.5, 4.0])
def test_one_length_keeps_the_tolerance_at_every_step(p: float, tolerance: float) -> None:
    steps, ended = walked(Problem(lambda a: 1e-5 * a**p), start(0.3), 30.0, tolerance)
    assert ended is None
    for step in steps:
        for t in (-0.3, 0.8, 1.0):
            size, _, cycles, _ = (float(np.ravel(each)[0]) if np.size(each) else 0.0 for each in step.at(np.array([t])))
            assert cycles == pytest.approx(after(size, 0.3, 1e-5, p), rel=max(len(steps) * tolerance, 1e-13))


@pytest.mark.parametrize("tolerance", [1e-4, 1e-7])
def test_two_lengths_each_follow_their_own_rate(tolerance: float) -> None:
    problem = Problem(lambda a: 2e-5 * a**1.5, lambda c: 1e-5 * c**1.2)
    steps, _ = walked(problem, start(0.5, 1.0), 20.0, tolerance)
    for step in steps:
        depth, length, cycles, _ = (np.ravel(each) for each in step.at(np.array([-0.5, 0.5, 1.0])))
        for a, c, n in zip(depth, length, cycles, strict=True):
            assert n == pytest.approx(after(a, 0.5, 2e-5, 1.5), rel=2.0 * len(steps) * tolerance)
            assert n == pytest.approx(after(c, 1.0, 1e-5, 1.2), rel=2.0 * len(steps) * tolerance)
    end = steps[-1].end()
    a, c = np.exp(end.log_depth), np.exp(end.place - end.log_depth)
    own, other = 2e-5 * a**0.5, 1e-5 * c**0.2
    assert end.depth_share == pytest.approx(own / (own + other), rel=1e-3)


def test_cycles_spent_before_are_counted_on() -> None:
    steps, _ = walked(Problem(lambda a: 1e-5 * a**2.0), start(1.0, cycles=5e4), 3.0)
    end = steps[-1].end()
    assert end.cycles == pytest.approx(5e4 + after(float(np.exp(end.log_depth)), 1.0, 1e-5, 2.0), rel=1e-6)


def jumping(low: float, high: float, at: float) -> Rate:
    return lambda size: np.where(size < at, low, high) * size


@pytest.mark.parametrize("told", [True, False])
@pytest.mark.parametrize(("low", "high"), [(1e-5, 4e-5), (4e-5, 1e-5)])
@pytest.mark.parametrize("two", [True, False])
def test_a_jump_of_the_rate_is_stopped_at_or_stepped_over(low: float, high: float, told: bool, two: bool) -> None:
    """ln a grows at one rate up to 2 mm and at another beyond; ln c with it or at the same place for two lengths."""
    other = jumping(low, high, 2.0) if two else None
    problem = Problem(jumping(low, high, 2.0), other, 2.0 if told else None)
    steps, ended = walked(problem, start(0.5, 0.5 if two else None), 8.0)
    assert ended is None
    end = steps[-1].end()
    exact = np.log(4.0) / low + (end.log_depth - np.log(2.0)) / high
    assert end.cycles == pytest.approx(exact, rel=1e-6 if told else 2e-4)
    assert min(abs(np.exp(step.end().log_depth) - 2.0) for step in steps) < (1e-6 if told else 1e-4)
    assert len(steps) < 60
    if told:
        assert sum(step.width <= 10.0 * SHORTEST_STEP for step in steps) <= 2


def test_two_kinks_are_met_one_after_the_other() -> None:
    rate = lambda a: np.where(a < 1.0, 1e-5, np.where(a < 1.1, 3e-5, 1e-5)) * a  # noqa: E731
    problem = Problem(rate)
    problem.events = lambda depth, *_: np.array([np.log(depth / 1.1), np.log(depth)])  # type: ignore[method-assign]
    steps, _ = walked(problem, start(0.5), 8.0)
    end = steps[-1].end()
    exact = (np.log(2.0) + end.log_depth - np.log(1.1)) / 1e-5 + np.log(1.1) / 3e-5
    assert end.cycles == pytest.approx(exact, rel=1e-6)


def test_a_share_that_changes_fast_keeps_the_tolerance_though_the_sum_does_not_change() -> None:
    share = lambda a: 0.5 + 0.3 * np.sin(8.0 * np.log(a))  # noqa: E731
    problem = Problem(lambda a: 1e-5 * share(a) * a)
    problem.two_lengths = True
    both = lambda a, c, _: LogRates(1e-5 * share(a), 1e-5 * (1.0 - share(a)))  # noqa: E731
    problem.log_rates = both  # type: ignore[method-assign]
    steps, _ = walked(problem, start(0.5, 1.0), 4.0)
    for step in steps:
        end = step.end()
        exact = quad(lambda x: 1e5 / share(np.exp(x)), np.log(0.5), end.log_depth, epsrel=1e-12, limit=200)[0]
        assert end.cycles == pytest.approx(exact, rel=1e-5)


def test_compliance_that_changes_fast_keeps_its_own_tolerance() -> None:
    """The integral of 2 + sin(12 x) is 2 x + (1 - cos(12 x)) / 12, to a hundred-millionth of itself."""
    slopes = lambda a, _: (np.array([2.0 + np.sin(12.0 * np.log(a))]), np.zeros((1, a.size)))  # noqa: E731
    steps, _ = walked(Problem(lambda a: 1e-5 * a, slopes=slopes), start(1.0, added=1), 30.0)
    for step in steps:
        x = step.end().log_depth
        assert step.end().compliance[0] == pytest.approx(2.0 * x + (1.0 - np.cos(12.0 * x)) / 12.0, rel=1e-7)


@pytest.mark.parametrize("two", [True, False])
@pytest.mark.parametrize(
    ("beyond", "reason"), [(0.0, "arrest"), (np.inf, "unstable"), (np.nan, "unstable"), (-1.0, "unstable")]
)
def test_growth_ends_where_it_rests_or_runs(beyond: float, reason: str, two: bool) -> None:
    rate = lambda size: np.where(size < 2.0, 1e-5 * size, beyond)  # noqa: E731
    steps, ended = walked(Problem(rate, rate if two else None), start(0.5, 0.5 if two else None), 8.0)
    assert ended is not None
    assert ended.reason == reason
    assert np.exp(ended.state.log_depth) == pytest.approx(2.0, abs=1e-5)
    assert ended.state.cycles == pytest.approx(np.log(4.0) / 1e-5, rel=1e-5)
    assert ended.state is not steps[0].origin


@pytest.mark.parametrize("two", [True, False])
def test_a_crack_that_rests_at_the_start_takes_no_step(two: bool) -> None:
    rest = lambda size: 0.0 * size  # noqa: E731
    first = start(1.0, 3.0 if two else None)
    (only,) = integrate(Problem(rest, rest if two else None), first, 1e-7, 5.0)  # type: ignore[arg-type]
    assert only == Termination("arrest", first)
    (only,) = integrate(Problem(lambda size: np.nan * size), start(1.0), 1e-7, 5.0)  # type: ignore[arg-type]
    assert isinstance(only, Termination)
    assert only.reason == "unstable"


def test_a_length_that_rests_leaves_the_growth_to_the_depth() -> None:
    problem = Problem(lambda a: 1e-5 * a**1.5, lambda c: 0.0 * c)
    steps, _ = walked(problem, start(0.5, 1.0), 4.0)
    end = steps[-1].end()
    assert end.place - end.log_depth == pytest.approx(0.0, abs=1e-9)
    assert end.cycles == pytest.approx(after(float(np.exp(end.log_depth)), 0.5, 1e-5, 1.5), rel=1e-6)


def test_added_compliance_is_the_integral_of_its_slopes() -> None:
    """Slopes a, a^2, 0 per unit of ln a: a - a0, (a^2 - a0^2) / 2, nothing; the rate falls with the first."""
    problem = Problem(lambda a: 1e-5 * a, slopes=lambda a, _: (np.array([a, a**2, 0.0 * a]), np.zeros((3, a.size))))
    problem.slowed_by = lambda added: np.exp(-0.3 * added[0])
    steps, _ = walked(problem, start(0.5, added=3), 6.0)
    for step in steps:
        end = step.end()
        size = float(np.exp(end.log_depth))
        assert end.compliance == pytest.approx([size - 0.5, 0.5 * (size**2 - 0.25), 0.0], rel=1e-7)
        exact = quad(lambda a: np.exp(0.3 * (a - 0.5)) / (1e-5 * a), 0.5, size, epsrel=1e-12)[0]
        assert end.cycles == pytest.approx(exact, rel=1e-6)


def test_compliance_of_two_lengths_grows_with_both() -> None:
    slopes = lambda a, c: (np.array([a, 0.0 * a, a]), np.array([0.0 * c, c, c]))  # noqa: E731
    problem = Problem(lambda a: 1e-5 * a, lambda c: 3e-5 * c, slopes=slopes)
    steps, _ = walked(problem, start(0.5, 1.0, added=3), 2.0)
    end = steps[-1].end()
    a, c = np.exp(end.log_depth), np.exp(end.place - end.log_depth)
    assert np.log(c) == pytest.approx(3.0 * np.log(a / 0.5), rel=1e-6)
    assert end.compliance == pytest.approx([a - 0.5, c - 1.0, a - 0.5 + c - 1.0], rel=1e-6)


def test_a_shortened_step_is_solved_anew() -> None:
    problem = Problem(lambda a: 1e-5 * a**3.0)
    step = next(iter(integrate(problem, start(1.0), 1e-4, 30.0)))  # type: ignore[arg-type]
    assert isinstance(step, Step)
    part = shorten(problem, step, 0.2, 1e-4)  # type: ignore[arg-type]
    assert part.width == pytest.approx(0.6 * step.width)
    assert part.end().cycles == pytest.approx(after(float(np.exp(0.6 * step.width)), 1.0, 1e-5, 3.0), rel=1e-9)
    gone = Problem(lambda a: np.nan * a)
    cut = shorten(gone, step, 0.2, 1e-4)  # type: ignore[arg-type]
    assert cut.width == pytest.approx(part.width)
    assert cut.end().cycles == pytest.approx(part.end().cycles, rel=1e-4)


def test_trials_are_counted_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_TRIALS", 2)
    steps = integrate(Problem(lambda a: 1e-5 * a), start(1.0), 1e-7, 1e9)  # type: ignore[arg-type]
    assert isinstance(next(steps), Step)
    assert isinstance(next(steps), Step)
    with pytest.raises(NotConvergedError, match="within 2 trials"):
        next(steps)


def test_steps_of_an_easy_life_are_few_and_end_a_little_beyond_the_last_depth() -> None:
    steps, _ = walked(Problem(lambda a: 1e-5 * a**1.5), start(0.5), 8.0)
    assert len(steps) <= 6
    assert 0.0 <= steps[-1].end().log_depth - np.log(8.0) < 0.5


# rules on a step


def test_nodes_integrate_polynomials_exactly() -> None:
    """The integral from -1 of t^8 is (t^9 + 1) / 9, at the nodes and by coefficients at the end."""
    assert NODES == 10
    assert pytest.approx((T**9 + 1.0) / 9.0) == AT_NODES @ T**8
    assert (INTEGRAL @ T**8).sum() == pytest.approx(2.0 / 9.0)


def test_a_series_is_the_sum_of_its_legendre_polynomials() -> None:
    coefficients = [1.0, -2.0, 0.5, 3.0, -1.5]
    for t in (-1.0, -0.3, 0.7, 1.0):
        assert series_at(coefficients, t) == pytest.approx(legendre.legval(t, coefficients))
        assert basis_at(np.array([t])) == pytest.approx(legendre.legvander(np.array([t]), 10))
    assert basis_at(np.array([-0.3, 0.7])) == pytest.approx(legendre.legvander(np.array([-0.3, 0.7]), 10))


def test_the_error_of_an_integral_follows_from_the_decay_of_its_coefficients() -> None:
    """Coefficients 1, 1/2, 1/4 ...: from the middle (1/16, 1/32) to the end (1/256) they decay by 1/16, which the rule
    squares; coefficients that do not decay gain nothing, and the tail counts for a thousandth at least."""
    values = legendre.legval(T, 0.5 ** np.arange(10.0))
    assert integral_error(values, 3.0) == pytest.approx(3.0 / 256.0 / 16.0**2)
    rough = legendre.legval(T, np.ones(10))
    assert integral_error(rough, 3.0) == pytest.approx(3.0)
    smooth = legendre.legval(T, 0.1 ** np.arange(10.0))
    assert integral_error(smooth, 1.0) == pytest.approx(1e-8 * 1e-3, rel=1e-5)
    rising = legendre.legval(T, np.arange(10.0))
    assert integral_error(rising, 1.0) == pytest.approx(9.0)
    lone = legendre.legval(T, [0, 0, 0, 0, 0, 2.0, 0, 0, 1.0, 0])
    assert integral_error(lone, 1.0) == pytest.approx(0.25)


def test_a_cut_step_is_its_first_part() -> None:
    step = next(iter(integrate(Problem(lambda a: 1e-5 * a**2.0, lambda c: 2e-5 * c), start(1.0, 2.0), 1e-7, 9.0)))  # type: ignore[arg-type]
    assert isinstance(step, Step)
    part = step.cut(-0.4)
    assert part.width == pytest.approx(0.3 * step.width)
    for t in (-1.0, 0.1, 1.0):
        whole, of_part = step.at(np.array([0.3 * (t + 1.0) - 1.0])), part.at(np.array([t]))
        for one, other in zip(whole[:3], of_part[:3], strict=True):
            assert other == pytest.approx(one, rel=1e-10, abs=1e-6)
