"""Whether a Young's modulus can be one of a metal in MPa."""

from __future__ import annotations

from fatcore.findings import Finding, caution

__all__ = ["modulus_findings"]

PLAUSIBLE = (4e4, 4.5e5)  # MPa, from magnesium to tungsten [common practice]


def modulus_findings(young_modulus_mpa: float) -> list[Finding]:
    """A caution outside the moduli of metals: a wrong unit is the likely reason."""
    low, high = PLAUSIBLE
    if low <= young_modulus_mpa <= high:
        return []
    message = (
        f"a Young's modulus of {young_modulus_mpa:g} MPa: metals have {low:g} to {high:g} (steel 206000 MPa,"
        " that is 206 GPa)"
    )
    return [caution("modulus-implausible", message, field="young_modulus_mpa")]
