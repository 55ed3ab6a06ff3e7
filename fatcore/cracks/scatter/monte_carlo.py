"""Scatter of the life: seeded Monte Carlo over first size, shape, growth constants and loads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from annotated_types import Ge, Le, Len, doc

from fatcore.bounds import Positive, Probability, guarded
from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.stress_field import Stress
from fatcore.cracks.driving.law import GrowthLaw
from fatcore.cracks.driving.load_blocks import CrackLoading
from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.driving.ranges import Condition
from fatcore.cracks.scatter._inputs import FirstSize, choose_first_size, guard_tested, spread_findings, stage_findings
from fatcore.cracks.scatter._lives import lives
from fatcore.cracks.scatter._quantiles import convergence, quantile_at, quantile_bounds, rank_correlation
from fatcore.cracks.scatter._single_cracks import Task, alive, grow_single_cracks, samples_of
from fatcore.cracks.scatter.random_variables import VARIABLES, Distribution, drawn
from fatcore.errors import InputError
from fatcore.findings import Finding, caution, note
from fatcore.outcome import Outcome, evidence
from fatcore.require import FloatArray

CHUNK = 4096
MOST_SAMPLES = 1_000_000
TOLERANCE = 1e-4
AS_WELDED_THRESHOLD = 63.0
MOST_QUANTILES = 100
DEFAULT_QUANTILES = (0.001, 0.01, 0.023, 0.1, 0.5)
FIRST_SIZE = "which counts; needed where variables give depth_mm or aspect_ratio as well"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScatterOutcome(Outcome):
    """Distribution of the life.

    quantiles             : probabilities of failure asked for
    life_cycles           : life at each; None where the crack is at rest at that probability
    life_low_cycles, life_high_cycles : bounds of 95 % confidence by the number of samples; None as above
    infinite_life_share         : share of the samples that never reach the end
    mean_log_life, log_life_deviation : of log10 of the finite lives
    sensitivity           : rank correlation of each variable with the life, -1 to 1
    convergence           : relative half width of the confidence bounds of the median life
    verification_error         : largest relative difference to the adaptive integration over
                                 `verified_samples` samples
    averaging_error       : largest of theirs, as in `growth.GrowthOutcome`
    """

    samples: int
    seed: int
    quantiles: tuple[float, ...]
    life_cycles: tuple[float | None, ...]
    life_low_cycles: tuple[float | None, ...]
    life_high_cycles: tuple[float | None, ...]
    infinite_life_share: float
    mean_log_life: float | None
    log_life_deviation: float | None
    sensitivity: dict[str, float]
    convergence: float | None
    verification_error: float
    verified_samples: int
    averaging_error: float | None = None


@guarded
def simulate_scatter(
    *,
    crack: SurfaceCrack,
    stress: Stress,
    law: GrowthLaw,
    loading: CrackLoading,
    variables: Mapping[str, Distribution],
    samples: Annotated[int, Ge(16), Le(MOST_SAMPLES)] = 10_000,
    seed: Annotated[int, Ge(0), Le(2**63 - 1)] = 1,
    last_depth_mm: Positive | None = None,
    condition: Condition = "as-welded",
    quantiles: Annotated[Sequence[Probability], Len(1, MOST_QUANTILES)] = DEFAULT_QUANTILES,
    first_size: Annotated[FirstSize | None, doc(FIRST_SIZE)] = None,
    workers: Annotated[int, Ge(1), Le(64)] = 2,
) -> ScatterOutcome:
    """Lives of many cracks whose inputs scatter.

    crack, stress, law, loading, condition : as in `growth.grow`, values at their middle
    variables     : what scatters: depth_mm and threshold_mpa_sqrt_mm replace the value, aspect_ratio is depth
                    over half length, the rest are factors (stress, concentration and intensity factors
                    multiply
                    the stress intensity, the coefficient factors the constants of the first and last stage)
    samples, seed : number of cracks, 16 to 1e6, and seed of the generator
    last_depth_mm : depth that ends a life; None is through the thickness
    quantiles     : probabilities of failure between 0 and 1
    first_size    : needed where variables hold depth_mm or aspect_ratio: crack (as given, these variables are
                    left out) or variables (drawn; a shape that does not scatter stays that of the crack)
    workers       : threads; the numbers do not depend on it
    Raises        : InputError, UnknownError for another variable
    Source        : [jcss-pmc-3], [dnv-rp-c210] for published variables; [rank-correlation]
    """
    asked = np.array(quantiles)
    guard_tested(law, variables)
    variables, size_findings = choose_first_size(crack, variables, first_size)
    last = crack.thickness_mm if last_depth_mm is None else last_depth_mm
    given_mm = 0.0 if "depth_mm" in variables else crack.depth_mm
    if not given_mm < last <= crack.thickness_mm:
        raise InputError("the last depth must lie between the first depth and the thickness", "last_depth_mm")
    drive = Drive(law=law, loading=loading, condition=condition)
    task = Task(crack, stress, drive, variables, last)
    columns, found = _run(task, samples, seed, workers)
    single = grow_single_cracks(task, columns, found)
    ordered = np.sort(found)
    finite = np.log10(found[np.isfinite(found) & (found > 0.0)])
    bounds = [quantile_bounds(ordered, q) for q in asked]
    return ScatterOutcome(
        samples=samples,
        seed=seed,
        quantiles=tuple(float(q) for q in asked),
        life_cycles=tuple(quantile_at(ordered, q) for q in asked),
        life_low_cycles=tuple(low for low, _ in bounds),
        life_high_cycles=tuple(high for _, high in bounds),
        infinite_life_share=float(np.mean(~np.isfinite(found))),
        mean_log_life=float(finite.mean()) if finite.size else None,
        log_life_deviation=float(finite.std()) if finite.size else None,
        sensitivity={name: rank_correlation(column, found) for name, column in columns.items()},
        convergence=convergence(ordered),
        verification_error=single.error,
        verified_samples=single.verified_samples,
        averaging_error=single.averaging_error,
        **evidence(
            findings=[
                *single.findings,
                *size_findings,
                *_findings(asked, samples, found),
                *stage_findings(law, variables),
                *spread_findings(variables, stress),
                *_constant_findings(columns, condition),
            ],
            sources=[*law.sources, *crack.sources, "rank-correlation"],
            tables=[*crack.tables, *([law.table] if law.table else [])],
        ),
    )


def _run(task: Task, count: int, seed: int, workers: int) -> tuple[dict[str, FloatArray], FloatArray]:
    """Chunks with a generator of their own each, so that memory is bounded and threads do not change a
    number.
    """
    size = max(64, CHUNK // task.drive.loading.count.size)
    sizes = [size] * (count // size) + ([count % size] if count % size else [])
    seeds = np.random.SeedSequence(seed).spawn(len(sizes))
    with ThreadPoolExecutor(max_workers=workers) as pool:
        parts = list(pool.map(lambda job: _chunk(task, *job), zip(sizes, seeds, strict=True)))
    names = [name for name in VARIABLES if name in task.variables]
    columns = {name: np.concatenate([part[0][name] for part in parts]) for name in names}
    return columns, np.concatenate([part[1] for part in parts])


def _chunk(task: Task, count: int, seed: np.random.SeedSequence) -> tuple[dict[str, FloatArray], FloatArray]:
    columns = drawn(task.variables, np.random.default_rng(seed), count)
    samples, found = samples_of(task, columns, count), np.zeros(count)
    living = alive(task, samples)
    if living.any():
        chosen = samples.part(living)
        found[living] = lives(task.crack, task.stress, task.drive, chosen, task.last_depth_mm, TOLERANCE)
    return columns, found


def _findings(quantiles: FloatArray, count: int, lives_found: FloatArray) -> list[Finding]:
    found = [note("samples", f"{count} cracks drawn; correlation between the variables is left out")]
    if float(np.minimum(quantiles, 1.0 - quantiles).min()) * count < 10.0:
        message = "fewer than ten samples lie beyond a quantile: it is hardly known; draw more"
        found.append(caution("few-samples-in-tail", message, field="samples"))
    ended = int(np.count_nonzero(lives_found == 0.0))
    if ended:
        message = f"{ended} of the cracks drawn are at their end from the start: their life is 0"
        found.append(caution("first-size-beyond-end", message, field="depth_mm"))
    return found


def _constant_findings(columns: Mapping[str, FloatArray], condition: Condition) -> list[Finding]:
    """What is doubtful about the scatter of the growth constants and the threshold."""
    found = []
    factors = {"first_coefficient_factor", "last_coefficient_factor"} & set(columns)
    if len(factors) == 2:
        message = "the constants of both stages were drawn independently of each other"
        found.append(note("independent-stages", message, field="first_coefficient_factor"))
    if factors:
        message = "a factor of mean 1 takes the constant of the law as a mean; sources disagree on mean or median"
        found.append(note("mean-or-median", message, field="last_coefficient_factor", source="jcss-pmc-3"))
    threshold = columns.get("threshold_mpa_sqrt_mm")
    if threshold is not None and condition == "as-welded" and np.median(threshold) > AS_WELDED_THRESHOLD:
        message = "the threshold exceeds what codes allow for as-welded joints (63): not a design value"
        found.append(caution("high-threshold", message, field="threshold_mpa_sqrt_mm", source="bs-7910-2013"))
    return found
