"""The curves of the documents by id, and what else those documents say about their use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from fatcore.bounds import Positive, guarded
from fatcore.curves.curve import Curve
from fatcore.curves.limits.damage_limits import Amplitude, damage_limit_entry
from fatcore.curves.standards.reading import Row, all_rows, curve_of
from fatcore.errors import NotCoveredError, UnknownError
from fatcore.figures import as_given, figure
from fatcore.findings import Finding, Limit, caution, note
from fatcore.outcome import Outcome, evidence

_KNEES_CYCLES = (1.0e5, 1.0e9)  # lives at knees and cut-off of curves of welded joints [common practice]
_SLOPES = (2.5, 10.0)  # of their branches [common practice]
_BELOW = 1.0 - 1e-9  # rounding
_JOINED = 1e-4  # relative difference in range of printed branches from which the joint is worth a remark


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Description(Outcome):
    """A curve of the catalogue with what its document says about its use; None where it says nothing here.

    document              : key of the curve's source
    thickness_exponent    : of this class where the document gives it by class; else by detail
    use_limit_over_yield  : largest range as a multiple of the yield strength
    miner_limit           : permissible damage sum under variable amplitude, with its remark
    interaction_form      : form of combined normal and shear stress
    partial_factors       : by concept, then by consequence of failure
    printed_scatter_index : ratio of the 2.3 % to the 97.7 % strength as printed
    """

    curve: Curve
    label: str
    document: str
    environment: str
    where: str
    thickness_reference_mm: float | None
    thickness_exponent: float | None
    thickness_exponents: Mapping[str, float]
    use_limit_over_yield: float | None
    miner_limit: float | None
    miner_note: str
    interaction_form: str | None
    partial_factors: Mapping[str, Mapping[str, float]]
    stress_concentration_factor: float | None
    printed_scatter_index: float | None
    least_notch_over_structural: float | None

    @property
    def reference_range_mpa(self) -> float | None:
        """Range at 2e6 cycles [MPa]; None for a curve of energy density."""
        return self.curve.reference_range_mpa() if self.curve.quantity == "stress range" else None

    @property
    def reference_energy_density_mj_m3(self) -> float | None:
        """Range of energy density at 2e6 cycles [MJ/m³]; None for a curve of stress."""
        return None if self.curve.quantity == "stress range" else self.curve.reference_range_mpa()


def all_ids() -> tuple[str, ...]:
    """Ids of all curves in the order of the documents."""
    return tuple(all_rows())


@guarded
def find_curve(curve_id: str, *, loading: Amplitude = "variable") -> Curve:
    """The design curve with this id, for variable (default, the safe side) or constant amplitude.

    Raises : UnknownError with the nearest ids
    """
    return _built(curve_id, loading)


@cache
def describe_curve(curve_id: str, *, loading: Amplitude = "variable") -> Description:
    """The curve with this id and the rules of its document: thickness, limits, factors, damage limit."""
    curve = find_curve(curve_id, loading=loading)
    row = _row(curve_id)
    thickness = row.document.get("thickness", {})
    covered = row.get("thickness_covered", True)
    limit = damage_limit_entry(row.document["damage_limit"]) if "damage_limit" in row.document else {}
    return Description(
        curve=curve,
        label=row.label,
        document=curve.source,
        environment=row.get("environment", "air"),
        where=row.get("where", ""),
        thickness_reference_mm=thickness.get("reference_mm") if covered else None,
        thickness_exponent=row.get("thickness_exponent") if covered else None,
        thickness_exponents=MappingProxyType(thickness.get("exponents", {}) if covered else {}),
        use_limit_over_yield=row.document.get("limits_of_use", {}).get(curve.stress_kind),
        miner_limit=limit.get("limit"),
        miner_note=limit.get("remark", ""),
        interaction_form=row.document.get("interaction_form"),
        partial_factors=MappingProxyType(row.document.get("partial_factors", {})),
        stress_concentration_factor=row.get("stress_concentration_factor"),
        printed_scatter_index=row.get("scatter_index"),
        least_notch_over_structural=_least_notch(row, curve),
        **evidence(findings=remarks(curve), sources=_sources(row, curve), tables=[row.table]),
    )


def biaxiality_of(curve_id: str) -> str | None:
    """In words, the biaxiality ratio that a curve holds for; None where that does not matter."""
    words: str | None = _row(curve_id).get("biaxiality")
    return words


def is_parent_metal(curve_id: str) -> bool:
    """Whether the document has a curve for details without welds only."""
    row = _row(curve_id)
    named = str(row.get("material")).endswith("parent metal")
    return named or row.label in row.document.get("parent_metal_classes", ())


def remarks(curve: Curve) -> tuple[Finding, ...]:
    """What a user of a curve must know of it: remarks and doubts of its document, the joint at a knee."""
    if curve.table is None:
        origin = curve.title or "no origin stated"
        text = f"{curve.id} is a user-defined curve ({origin}); its figures were not checked"
        if curve.tested is not None:
            low, high = figure(curve.tested.lowest_range_mpa), figure(curve.tested.highest_range_mpa)
            text += f"; its {curve.tested.tests} tests failed at {low} to {high} MPa, what lies outside is extrapolated"
        joint = [_joint(curve)] if curve.knee_mismatch > _JOINED else []
        return (caution("own-curve", text, source=curve.source), *joint, *_unusual(curve))
    row = _row(curve.id)
    found = []
    if row.get("remark"):
        found.append(note("curve-remark", f"{curve.id}: {row.get('remark')}", source=curve.source))
    doubtful = row.label in {f"{size:g}" for size in row.get("doubtful_classes_mpa", [])}
    if row.get("doubt") and (doubtful or "doubtful_classes_mpa" not in row.family):
        found.append(caution("curve-doubtful", f"{curve.id}: {row.get('doubt')}", source=curve.source))
    if curve.knee_mismatch > _JOINED:
        found.append(_joint(curve))
    return tuple(found)


def in_environment(curve_id: str, environment: str) -> str:
    """Id of the same class of the same document in another environment.

    environment : air, seawater-protected or free-corrosion, as the document covers them
    Raises      : UnknownError, NotCoveredError when the document has no such line for this class
    """
    here = _row(curve_id)
    if here.get("environment", "air") == environment:
        return curve_id
    for row in all_rows().values():
        if (row.table, row.label) == (here.table, here.label) and row.get("environment", "air") == environment:
            return row.id
    raise NotCoveredError(f"{here.document['title']}: no line of this class in {environment!r}")


def range_limit(curve_id: str, yield_strength_mpa: Positive) -> Limit | None:
    """Largest stress range that a curve's document permits, as a limit; None where it states none."""
    description = describe_curve(curve_id)
    if description.use_limit_over_yield is None:
        return None
    high = description.use_limit_over_yield * yield_strength_mpa
    return Limit("stress_range_mpa", 0.0, high, source=description.curve.source, where="limit of use")


@cache
def _built(curve_id: str, loading: str) -> Curve:
    return curve_of(_row(curve_id), loading)


def _row(curve_id: str) -> Row:
    rows = all_rows()
    if curve_id not in rows:
        raise UnknownError("curve", curve_id, rows)
    return rows[curve_id]


def _joint(curve: Curve) -> Finding:
    return note(
        "branches-joined",
        f"{curve.id}: the printed branches differ by {figure(100.0 * curve.knee_mismatch)} % in range at "
        "the knee and were joined on the first",
        source=curve.source,
    )


def _unusual(curve: Curve) -> list[Finding]:
    """Knees and slopes of a user-defined curve that no document of the catalogue has [common practice]."""
    slopes = [m for index, m in enumerate(curve.slopes) if index not in curve.joints]
    lives = (*curve.knee_cycles(), *((curve.cut_off_cycles() or _KNEES_CYCLES[0]),))
    spans = (("knees", "cycles", lives, _KNEES_CYCLES), ("slopes", "", slopes, _SLOPES))
    found = []
    for what, unit, values, (low, high) in spans:
        off = [figure(value) for value in values if not low * _BELOW <= value <= high / _BELOW]
        if off:
            text = f"{curve.id}: {what} {', '.join(off)} {unit}".rstrip()
            text += f" leave the usual {as_given(low)} to {as_given(high)}: check the figures"
            found.append(caution(f"{what}-unusual", text, field="curve", source=curve.source))
    return found


def _sources(row: Row, curve: Curve) -> list[str]:
    extra = row.document.get("survival_source")
    return [curve.source, *([extra] if extra else [])]


def _least_notch(row: Row, curve: Curve) -> float | None:
    if not curve.stress_kind.startswith("effective-notch"):
        return None
    least: float | None = row.document.get("effective_notch", {}).get("least_over_structural")
    return least
