"""Partial factors of documents and of the user, and the class factors of the HSE guidance."""

from __future__ import annotations

import numpy as np

from fatcore.bounds import Positive, guarded
from fatcore.curves.corrections.correction import Correction
from fatcore.curves.relief import CLASS_FACTOR, factor_findings
from fatcore.curves.standards import documents
from fatcore.errors import InputError, UnknownError
from fatcore.figures import as_given
from fatcore.findings import note
from fatcore.outcome import evidence

_HSE = "hse-1995"


def partial_factor(document: str, concept: str, consequence: str) -> Correction:
    """The partial factor on fatigue strength that a document asks for.

    document    : 'en-1993-1-9-2005' or 'iiw-2016'
    concept     : damage-tolerant or safe-life (EN), fail-safe or safe-life (IIW)
    consequence : low-consequence, high-consequence (EN); loss-of-secondary-part, loss-of-structure,
                  loss-of-life (IIW)
    Raises      : UnknownError, NotCoveredError where the document has no such table here
    """
    concepts = documents.rule(document, "partial_factors")
    if concept not in concepts:
        raise UnknownError("concept", concept, concepts, "concept")
    if consequence not in concepts[concept]:
        raise UnknownError("consequence", consequence, concepts[concept], "consequence")
    value = concepts[concept][consequence]
    return Correction.reported(
        "partial factor",
        "partial-factor",
        np.array(1.0 / value),
        f"partial factor {as_given(value)} for {concept}, {consequence}",
        source=document,
        table=documents.document(document).table,
        field="resistance_factor",
    )


@guarded
def strength_divided(resistance_factor: Positive = 1.0) -> Correction:
    """A factor that strengths are divided by, whatever document it is of.

    resistance_factor : 1 and more weakens; under 1 it is `outside`
    """
    text = f"strengths are divided by {as_given(resistance_factor)}, as the request says"
    findings = [note("partial-factor", text, field="resistance_factor")]
    return Correction(
        name="partial factor",
        strength_factor=np.array(1.0 / resistance_factor),
        **evidence(findings=[*findings, *factor_findings(resistance_factor=resistance_factor)]),
    )


def class_by_factor(label: str) -> str:
    """Id of the curve of the class that a class factor stands for.

    label  : as for `class_factor`, which refuses others
    Source : [hse-1995]
    """
    line: str = documents.document(_HSE).content["line"]
    return f"{line.rpartition('-')[0]}-{label.lower()}"


def class_factor(label: str, curve_id: str) -> Correction:
    """The factor on ranges with which another class enters the line of class D.

    label    : B, C, D, E, F, F2, G or W; B and C have other slopes than D: for them one factor approximates
    curve_id : of the curve it is to act on, which must be that line
    Raises   : UnknownError for the label, InputError for another line
    Source   : [hse-1995]
    """
    factors, line = documents.rule(_HSE, "class_factors"), documents.document(_HSE).content["line"]
    if curve_id != line:
        raise InputError(f"a class factor acts on the line of class D, {line}, not on {curve_id}", "kind")
    if label not in factors:
        raise UnknownError("class", label, factors, "label")
    return Correction.reported(
        CLASS_FACTOR,
        "class-factor",
        np.array(1.0 / factors[label]),
        f"ranges of class {label} times {as_given(factors[label])} enter the line of class D, in which "
        "documents differ",
        source=_HSE,
        table=documents.document(_HSE).table,
        field="stress_range_mpa",
    )
