"""Single cracks of a scatter, grown by the adaptive integration: as referee, and for what it says of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from fatcore.cracks.configurations.plates import SurfaceCrack
from fatcore.cracks.configurations.stress_field import Stress, Stressed
from fatcore.cracks.driving.driving_findings import drive_findings
from fatcore.cracks.driving.law import GrowthLaw, Stage, Threshold
from fatcore.cracks.driving.loading import Drive
from fatcore.cracks.growth.end_criteria import EndCriteria
from fatcore.cracks.growth.life import GrowthOutcome, grow
from fatcore.cracks.scatter._lives import Samples, sample_law
from fatcore.cracks.scatter.random_variables import Distribution
from fatcore.figures import figure
from fatcore.findings import Finding, caution
from fatcore.require import FloatArray

REFEREED = 16
LARGEST_ERROR = 0.01  # of a life, before the numbers are doubted [own choice]


class Task(NamedTuple):
    """What all cracks of a scatter have in common."""

    crack: SurfaceCrack
    stress: Stress
    drive: Drive
    variables: Mapping[str, Distribution]
    last_depth_mm: float


class Grown(NamedTuple):
    """Largest relative difference of the lives over the verified_samples samples, largest error of the mean
    over a
    block (None for one entry), and all that growth says.
    """

    error: float
    verified_samples: int
    averaging_error: float | None
    findings: list[Finding]


def samples_of(task: Task, columns: Mapping[str, FloatArray], count: int) -> Samples:
    """The inputs of the cracks, drawn where a column says so and as given else."""
    one = np.ones(count)
    crack = task.crack
    depth = columns.get("depth_mm", crack.depth_mm * one)
    ratio = columns.get("aspect_ratio", crack.depth_mm / crack.half_length_mm * one)
    factors = [columns.get(name, one) for name in ("stress_factor", "concentration_factor", "intensity_factor")]
    return Samples(
        depth_mm=depth,
        half_length_mm=depth / ratio,
        k_factor=np.prod(factors, axis=0),
        first_factor=columns.get("first_coefficient_factor", one),
        last_factor=columns.get("last_coefficient_factor", one),
        threshold_mpa_sqrt_mm=columns.get("threshold_mpa_sqrt_mm"),
    )


def alive(task: Task, samples: Samples) -> NDArray[np.bool_]:
    """Cracks that are not at their end from the start."""
    width = np.inf if task.crack.half_width_mm is None else task.crack.half_width_mm
    return np.asarray((samples.depth_mm < task.last_depth_mm) & (samples.half_length_mm < width))


def grow_single_cracks(task: Task, columns: Mapping[str, FloatArray], lives: FloatArray) -> Grown:
    """Grows the crack at the medians, the first samples, the shortest life and the first infinite one."""
    every = samples_of(task, columns, lives.size)
    living = np.flatnonzero(alive(task, every))
    first = living[:REFEREED]
    reported = [_grow(task, every.part(slice(i, i + 1))) for i in (*first, *_telling(living, lives))]
    errors = [_difference(float(lives[i]), each.life_cycles) for i, each in zip(first, reported, strict=False)]
    error = max(errors, default=0.0)
    findings = _merge(_of_medians(task, columns), [each.findings for each in reported])
    averaging = [each.averaging_error for each in reported if each.averaging_error is not None]
    return Grown(error, first.size, max(averaging, default=None), [*findings, *_of_error(error)])


def _telling(living: NDArray[np.intp], lives: FloatArray) -> list[int]:
    """The crack of the shortest life and the first infinite one, beyond those that are verified_samples."""
    found = [int(living[np.argmin(lives[living])])] if living.size else []
    found += [int(i) for i in living[np.isinf(lives[living])][:1]]
    return [i for i in found if i not in living[:REFEREED]]


def _of_medians(task: Task, columns: Mapping[str, FloatArray]) -> Sequence[Finding]:
    """What growth says of the crack at the medians; of the crack as given where that one is at its end."""
    middle = samples_of(task, {name: np.array([np.median(c)]) for name, c in columns.items()}, 1)
    if alive(task, middle).all():
        return _grow(task, middle).findings
    depth, length = task.crack.start()
    unit = Stressed(task.crack, task.stress, None).unit(np.array([depth]), np.array([length]), np.zeros((0, 1)))
    return drive_findings(task.drive.law, task.drive, [unit])


def _merge(medians: Iterable[Finding], samples: Iterable[Sequence[Finding]]) -> list[Finding]:
    """All findings of the medians, and those of single samples that the medians do not have."""
    found = list(medians)
    known = {(each.code, each.field, each.severity) for each in found}
    for each in (finding for findings in samples for finding in findings):
        if (each.code, each.field, each.severity) not in known:
            known.add((each.code, each.field, each.severity))
            found.append(replace(each, message=f"for one of the cracks drawn: {each.message}"))
    return found


def _of_error(error: float) -> list[Finding]:
    if error <= LARGEST_ERROR:
        return []
    message = (
        f"the quick integration of the lives differs by up to {figure(100.0 * error)} % from the one with error"
        " control: the lives may be too long by as much"
    )
    return [caution("referee-disagrees", message, field="verification_error")]


def _grow(task: Task, one: Samples) -> GrowthOutcome:
    return grow(
        crack=replace(task.crack, depth_mm=float(one.depth_mm[0]), half_length_mm=float(one.half_length_mm[0])),
        stress=_scale(task.stress, float(one.k_factor[0])),
        law=_single(sample_law(task.drive.law, one)),
        loading=task.drive.loading,
        end=EndCriteria(depth_mm=task.last_depth_mm),
        condition=task.drive.condition,
    )


def _difference(quick: float, slow: float | None) -> float:
    if slow is None or not np.isfinite(quick):
        return 0.0 if slow is None and not np.isfinite(quick) else 1.0
    return abs(quick / slow - 1.0) if slow > 0.0 else abs(quick)


def _scale(stress: Stress, factor: float) -> Stress:
    return replace(
        stress,
        membrane_mpa=factor * stress.membrane_mpa,
        bending_mpa=factor * stress.bending_mpa,
        stress_mpa=tuple(factor * value for value in stress.stress_mpa),
    )


def _single(law: GrowthLaw) -> GrowthLaw:
    """A law of one sample with plain numbers."""

    def plain(stages: tuple[Stage, ...]) -> tuple[Stage, ...]:
        return tuple(Stage(coefficient=float(np.ravel(s.coefficient)[0]), exponent=s.exponent) for s in stages)

    intercept = float(np.ravel(law.threshold.intercept_mpa_sqrt_mm)[0])
    threshold: Threshold = replace(law.threshold, intercept_mpa_sqrt_mm=intercept)
    return replace(law, low=plain(law.low), high=plain(law.high), threshold=threshold)
