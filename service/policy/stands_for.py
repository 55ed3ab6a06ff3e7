"""The words that a choice stands for where a request leaves it open, so that a rule about it holds there too."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Any

from pydantic import BaseModel

from fatcore.check.strength.combination import FORMS
from fatcore.curves.standards import catalogue
from fatcore.errors import FatcoreError
from fatcore.stress.material_names import material_family

from ..topics.check.judging import CheckMaterial, FixedCurves
from ..topics.cracks.law import LawRequest
from ..topics.cracks.models import EndRequest, SurfaceRequest
from ..topics.cracks.routes import GrowthRequest
from ..topics.cracks.scatter import FractureRequest

Words = Collection[str]


def words_of(model: BaseModel, name: str) -> Words:
    """The words that a field of a part says, or stands for by being null; none where it has no meaning there."""
    value = getattr(model, name)
    if value is None:
        resolve = STANDS_FOR.get((type(model), name))
        return () if resolve is None else resolve(model)
    return [word for word in (value if isinstance(value, list) else [value]) if isinstance(word, str)]


def _interaction(curves: FixedCurves) -> Words:
    """All that the documents of the curves prescribe: the loading decides between proportional or not."""
    if curves.shear_curve is None:
        return ()
    named = {each for each in (curves.curve, curves.shear_curve) if isinstance(each, str)}
    forms = {catalogue.describe_curve(each).interaction_form for each in named & set(catalogue.all_ids())}
    return [word for form in sorted(forms - {None}, key=str) for word in FORMS[str(form)]]


def _threshold_form(given: LawRequest) -> Words:
    law = _made(given)
    return () if law is None or law.threshold.is_zero else (law.threshold_form,)


def _criterion(given: GrowthRequest) -> Words:
    crack = _made(given.crack)
    return () if crack is None or set(crack.modes) == {"opening"} else ("largest",)


def _criterion_of_states(given: FractureRequest) -> Words:
    shear = (given.k_sliding_mpa_sqrt_mm, given.k_tearing_mpa_sqrt_mm)
    return () if shear == (None, None) else ("largest",)


def _line(end: EndRequest) -> Words:
    return () if end.strength is None else ("continuous",)


def _toe_form(crack: SurfaceRequest) -> Words:
    return () if crack.toe_footprint_mm is None else ("plane",)


def _family(material: CheckMaterial) -> Words:
    family = material_family(material.name)
    return () if family is None else (family,)


def _made(part: Any) -> Any:
    """The part in the core, None where it is refused there, which its calculation says."""
    try:
        return part.to_core()
    except FatcoreError:
        return None


STANDS_FOR: dict[tuple[type[BaseModel], str], Callable[[Any], Words]] = {
    (CheckMaterial, "material_family"): _family,
    (EndRequest, "line"): _line,
    (FixedCurves, "interaction"): _interaction,
    (FractureRequest, "criterion"): _criterion_of_states,
    (GrowthRequest, "criterion"): _criterion,
    (LawRequest, "threshold_form"): _threshold_form,
    (SurfaceRequest, "toe_form"): _toe_form,
}
