"""Crack lengths from potentials and compliance."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache

import numpy as np

from fatcore.trials.length.compliance import compliances_of_lengths, lengths_from_compliance
from fatcore.trials.length.form import PotentialForm
from fatcore.trials.length.potential import lengths_from_potential, potentials_of_lengths
from fatcore.verification.case import VerificationCase
from fatcore.verification.trials._cases import check


@cache
def _centre() -> PotentialForm:
    return PotentialForm(specimen="centre", width_mm=75.0, probe_mm=3.0, reference_mm=10.0)


@cache
def _compact() -> PotentialForm:
    return PotentialForm(specimen="compact", width_mm=1.0)


def _by_potential(ratio: float) -> Callable[[], float]:
    return lambda: float(lengths_from_potential(_centre(), np.array([ratio]), 1.0).size_mm[0])


def _potential(share: float) -> Callable[[], float]:
    return lambda: float(potentials_of_lengths(_compact(), np.array([share])).reading[0])


def _compliance(share: float) -> Callable[[], float]:
    return lambda: float(compliances_of_lengths(np.array([share]), width_mm=1.0).reading[0])


def _round_trip(share: float) -> Callable[[], float]:
    def back() -> float:
        reading = compliances_of_lengths(np.array([share]), width_mm=1.0).reading
        found = lengths_from_compliance(
            reading, width_mm=1.0, thickness_mm=1.0, youngs_modulus_mpa=1.0, gauge="load-line"
        )
        return float(found.size_mm[0])

    return back


def _cases() -> Iterator[VerificationCase]:
    derived = "formula, computed independently"
    for ratio, expected in ((1.0, "10.0000"), (1.25, "12.4679"), (1.5, "14.7729"), (2.0, "18.9011")):
        title = f"centre crack, W 75, probes 3, reference 10: size at {ratio:g} times the reference potential [mm]"
        yield check(
            f"johnson-{ratio:g}", title, "johnson-1965", derived, expected, _by_potential(ratio), status="derived"
        )
    for share, expected in ((0.241, "1.0000"), (0.5, "1.4785")):
        title = f"compact specimen: ratio of potentials at a/W = {share:g}"
        yield check(
            f"hicks-pickard-{share:g}",
            title,
            "hicks-pickard-1982",
            derived,
            expected,
            _potential(share),
            status="derived",
        )
    title = "compact specimen: compliance E'vB/P at the load line, a/W = 0.5"
    yield check("compliance-half", title, "astm-e647", derived, "36.989", _compliance(0.5), status="derived")
    for share in (0.3, 0.5, 0.7, 0.9):
        yield check(
            f"compliance-round-{share:g}",
            f"compact specimen: a/W = {share:g} to compliance and back",
            "astm-e647",
            "both printed polynomials",
            f"{share:g}",
            _round_trip(share),
            tolerance=2.6e-4,
            why="the two polynomials are fits of each other",
        )


CASES = tuple(_cases())
