"""Whether a curve may judge the stress of a line: its kind of stress and its material."""

from __future__ import annotations

from collections.abc import Sequence

from fatcore.check.line import Basis
from fatcore.cracks.driving.law import GrowthLaw
from fatcore.curves.curve import Curve
from fatcore.curves.standards.catalogue import is_parent_metal
from fatcore.curves.stress_kind import plain_kind
from fatcore.findings import Finding, caution, outside
from fatcore.stress.material_names import Family, material_family

# kinds of stress of the catalogue that fit a basis: normal (or equivalent) stress, and shear stress
_NORMAL_KINDS: dict[Basis, tuple[str, ...]] = {
    "peak-stress": ("peak-stress",),
    "structural": ("hot-spot",),
    "effective-notch": ("effective-notch", "effective-notch-von-mises"),
    "nominal": ("normal",),
}
_SHEAR_KINDS: dict[Basis, tuple[str, ...]] = {
    "peak-stress": ("peak-stress",),
    "structural": ("shear",),
    "effective-notch": ("effective-notch-shear",),
    "nominal": ("shear",),
}


_UNSTATED = ("", "own")  # kinds of a user-defined curve that say nothing
_KINDS = {kind for kinds in (_NORMAL_KINDS, _SHEAR_KINDS) for each in kinds.values() for kind in each}


def kind_findings(basis: Basis, curve: Curve, shear_curve: Curve | None = None) -> tuple[Finding, ...]:
    """An `outside` finding for each curve that was made for another stress, or for metal without a weld.

    A nominal class on structural stress is a caution: some documents share the curve, most do not.
    The kind of a user-defined curve is compared where it is stated: with the kinds of the catalogue and the names of
    the bases; words that are neither are a caution.
    """
    given = [(curve, _NORMAL_KINDS[basis])] + ([(shear_curve, _SHEAR_KINDS[basis])] if shear_curve else [])
    return tuple(finding for one, kinds in given for finding in (*_of_kind(basis, one, kinds), *_of_parent(one)))


def _of_kind(basis: Basis, curve: Curve, kinds: Sequence[str]) -> tuple[Finding, ...]:
    if curve.table is not None:
        return () if curve.stress_kind in kinds else (_other_kind(basis, curve, curve.stress_kind),)
    stated = plain_kind(curve.stress_kind)
    if stated in (*_UNSTATED, *kinds):
        return ()
    if stated in _KINDS:
        return (_other_kind(basis, curve, stated),)
    text = f"{curve.id} is said to be for {curve.stress_kind!r}: not compared with the basis {basis}"
    return (caution("curve-kind-not-compared", text, field="curve", source=curve.source),)


def _other_kind(basis: Basis, curve: Curve, kind: str) -> Finding:
    text = f"{curve.id} is a curve for {kind}, the basis of the line is {basis}"
    if basis == "structural" and kind == "normal":
        return caution("nominal-curve-on-structural-stress", text, field="curve", source=curve.source)
    return outside("curve-of-other-stress", text, field="curve", source=curve.source)


def _of_parent(curve: Curve) -> tuple[Finding, ...]:
    if curve.table is None or not is_parent_metal(curve.id):
        return ()
    text = f"{curve.id} holds for metal without a weld; a line is a weld"
    return (outside("curve-of-parent-metal", text, field="curve", source=curve.source),)


def material_curve_findings(
    material: str, basis: Basis, curves: Sequence[Curve], family: Family | None = None
) -> tuple[Finding, ...]:
    """A finding for each curve of the catalogue that was found on another material, on every basis.

    Another kind of steel is doubtful, and `outside` on the peak-stress basis, whose control radius differs.
    material : name; one that does not say what it is leaves the curves unproven, unless the family is given
    """
    listed = [curve for curve in curves if curve.table is not None]
    family = family or material_family(material)
    if family is None and listed:
        text = f"material {material!r} does not say what it is: give its family, which the curves must hold for"
        return (outside("material-not-compared", text, field="material"),)
    return tuple(
        _other_material(material, family, basis, curve) for curve in listed if family and _found_on(curve) != family
    )


def document_findings(curves: Sequence[Curve]) -> tuple[Finding, ...]:
    """A caution where curves of the catalogue that judge together come from several documents."""
    sources = {curve.id: curve.source for curve in curves if curve.table is not None}
    if len(set(sources.values())) < 2:
        return ()
    listed = " and ".join(f"{name} ({source})" for name, source in sources.items())
    text = f"curves of different documents judge together: {listed}"
    return (caution("documents-mixed", text, field="curve"),)


def law_findings(law: GrowthLaw, material: str) -> tuple[Finding, ...]:
    """Published laws are on steel unless their name says aluminium; own constants stand for themselves.

    material : name or family; one that does not say what it is leaves the law unproven
    """
    family = material_family(material)
    found_on = "aluminium" if "aluminium" in law.name else "steel"
    if law.table is None or (family is not None and family.endswith(found_on)):
        return ()
    if family is None:
        text = f"growth law {law.name} was found on {found_on}, the material {material!r} does not say what it is"
        return (outside("material-not-compared", text, field="material"),)
    text = f"growth law {law.name} was found on {found_on}, the material is {material}"
    return (outside("law-of-other-material", text, field="law", source=law.sources[0]),)


def _found_on(curve: Curve) -> str:
    return curve.material.removesuffix(" parent metal")


def _other_material(material: str, family: Family, basis: Basis, curve: Curve) -> Finding:
    text = f"{curve.id} was found on {curve.material}, the material is {material}"
    both_steel = _found_on(curve).endswith("steel") and family.endswith("steel")
    if both_steel and basis != "peak-stress":
        return caution("curve-of-other-steel", text, field="curve", source=curve.source)
    return outside("curve-of-other-material", text, field="curve", source=curve.source)
