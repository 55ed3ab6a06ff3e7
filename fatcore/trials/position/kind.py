"""Whether tests and the design curve beside them are of one kind of stress."""

from __future__ import annotations

from fatcore.curves.curve import Curve
from fatcore.curves.stress_kind import plain_kind
from fatcore.errors import InputError
from fatcore.findings import Finding, caution

_KINDS = ("normal", "hot-spot", "peak-stress", "shear", "effective-notch", "effective-notch-shear")


def stress_kind_findings(stress_kind: str, curve: Curve) -> tuple[Finding, ...]:
    """A caution where the stress of tests is not that of a curve, by the words of both.

    stress_kind : of the ranges of the tests, like peak-stress, nominal, structural, effective-notch
    """
    given, wanted = plain_kind(stress_kind), plain_kind(curve.stress_kind)
    if given == wanted:
        return ()
    meant = curve.stress_kind or "a stress that it does not state"
    text = f"the tests are of {stress_kind} stress, {curve.id} is for {meant}"
    return (caution("position-of-another-stress", text, field="stress_kind", source=curve.source),)


def basis_findings(stress_kind: str, basis: str) -> tuple[Finding, ...]:
    """Whether the stress that tests are said to be of is that of the model of their specimen.

    basis  : of the line of the model whose range the tests have: peak-stress, structural, effective-notch, nominal
    Raises : InputError where both are known and contradict each other
    """
    given, wanted = plain_kind(stress_kind), plain_kind(basis)
    if given == wanted:
        return ()
    if given in _KINDS:
        raise InputError(f"the model of the specimen gives {basis} stress, not {stress_kind}", "stress_kind")
    text = f"the model of the specimen gives {basis} stress; {stress_kind!r} is not compared with it"
    return (caution("stress-kind-not-compared", text, field="stress_kind"),)
