"""Whether a curve may judge the stress of a line: its kind of stress and its material."""

from __future__ import annotations

from collections.abc import Sequence

from fatcore.check.line import Basis
from fatcore.curves.curve import Curve
from fatcore.findings import Finding, caution, outside
from fatcore.stress.materials import material_family

# kinds of stress of the catalogue that fit a basis: normal (or equivalent) stress, and shear stress
NORMAL_KINDS: dict[Basis, tuple[str, ...]] = {
    "peak-stress": ("peak-stress",),
    "structural": ("hot-spot",),
    "effective-notch": ("effective-notch", "effective-notch-von-mises"),
    "nominal": ("normal",),
}
SHEAR_KINDS: dict[Basis, tuple[str, ...]] = {
    "peak-stress": ("peak-stress",),
    "structural": ("shear",),
    "effective-notch": ("effective-notch-shear",),
    "nominal": ("shear",),
}


def kind_findings(basis: Basis, curve: Curve, shear_curve: Curve | None = None) -> tuple[Finding, ...]:
    """An `outside` finding for each curve of the catalogue that was made for another stress.

    A nominal class on structural stress is a caution: some documents share the curve, most do not.
    Own curves are taken at their user's word.
    """
    given = [(curve, NORMAL_KINDS[basis])] + ([(shear_curve, SHEAR_KINDS[basis])] if shear_curve else [])
    return tuple(
        _other_kind(basis, one)
        for one, kinds in given
        if one.table is not None and one.stress_kind not in kinds
    )


def _other_kind(basis: Basis, curve: Curve) -> Finding:
    text = f"{curve.id} is a curve for {curve.stress_kind}, the basis of the line is {basis}"
    shared = basis == "structural" and curve.stress_kind == "normal"
    return (caution if shared else outside)("curve-of-other-stress", text, field="curve", source=curve.source)


def material_curve_findings(material: str, basis: Basis, curves: Sequence[Curve]) -> tuple[Finding, ...]:
    """A finding for each curve of the catalogue that was found on another material, on every basis.

    Another kind of steel is doubtful, and `outside` on the peak-stress basis, whose control radius differs.
    material : name; one that the table of control radii does not know is not compared, which is said
    """
    listed = [curve for curve in curves if curve.table is not None]
    family = material_family(material)
    if family is None and listed:
        text = f"material {material!r} is not known: whether the curves hold for it was not compared"
        return (caution("material-not-compared", text, field="material"),)
    return tuple(
        _other_material(material, basis, curve) for curve in listed if family and _found_on(curve) != family
    )


def document_findings(curves: Sequence[Curve]) -> tuple[Finding, ...]:
    """A caution where curves of the catalogue that judge together come from several documents."""
    sources = {curve.id: curve.source for curve in curves if curve.table is not None}
    if len(set(sources.values())) < 2:
        return ()
    listed = " and ".join(f"{name} ({source})" for name, source in sources.items())
    text = f"curves of different documents judge together: {listed}"
    return (caution("documents-mixed", text, field="curve"),)


def _found_on(curve: Curve) -> str:
    return curve.material.removesuffix(" parent metal")


def _other_material(material: str, basis: Basis, curve: Curve) -> Finding:
    text = f"{curve.id} was found on {curve.material}, the material is {material}"
    both_steel = _found_on(curve).endswith("steel") and material.endswith("steel")
    say = caution if both_steel and basis != "peak-stress" else outside
    return say("curve-of-other-material", text, field="curve", source=curve.source)
