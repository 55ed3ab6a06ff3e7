"""Inputs in the words of the trade: what a field is called in a report, and what its choices mean."""

from __future__ import annotations

from fatcore import quantities

from ..comparison.naming import named

# by the name of a field, behind the name of the part that it stands in where that matters
NAMES = {
    ".cycles": "a cycle of several modes is",
    "below_knee": "below the knee",
    "bending_mpa": "bending stress at the surface",
    "coefficient": "coefficient",
    "control": "what drives the joint",
    "crack.kind": "crack",
    "criterion": "criterion of several modes",
    "curve": "design curve",
    "cut_off_cycles": "cut-off at",
    "damage_limit": "permissible damage sum",
    "damage_limit_rule": "permissible damage by",
    "definition": "a cycle of several modes is",
    "depth_mm": "crack depth",
    "description": "description",
    "design_fatigue_factor": "design fatigue factor",
    "distance_mm": "stress path, distance",
    "element_size_mm": "element size at the notch",
    "end.cycles": "number of cycles",
    "end.half_length_mm": "half length of the crack",
    "environment": "environment of the curve",
    "family": "family of cracks",
    "form": "form of the stress intensity",
    "grips": "ends of the joint",
    "grow_through": "goes on as a through crack",
    "half_length_mm": "half length of the crack",
    "history_mpa": "stress history",
    "hysteresis_threshold_mpa": "hysteresis threshold",
    "k_mpa_sqrt_mm": "stress intensity for load factor 1",
    "knee_cycles": "knee at",
    "law.name": "published law",
    "length_mm": "free length of the member",
    "life_cycles": "lives of its points",
    "line": "weld line",
    "end.line": "failure assessment line",
    "load_ratio_effect.kind": "effect of the load ratio",
    "loading.kind": "loading",
    "loading": "loading",
    "material_family": "kind of metal",
    "maximum": "largest load factor",
    "mean_stress": "correction for mean stress",
    "membrane_mpa": "membrane stress",
    "minimum": "smallest load factor",
    "model": "model",
    "name": "name",
    "offset_mm": "offset towards the crack mouth",
    "one_repeat": "one repeat is",
    "poisson_ratio": "Poisson's ratio",
    "parameters": "parameter",
    "plane": "plane",
    "range_edges_mpa": "classes of range at",
    "range_mpa": "ranges of its points",
    "reference_cycles": "cycles of the equivalent range",
    "repeats": "repeats",
    "residue": "ranges that do not close",
    "rotational_stiffness_nmm": "rotational stiffness",
    "sample_size": "tests behind the curve",
    "series_axial_stiffness_n_per_mm": "axial stiffness in line",
    "series_rotational_stiffness_nmm": "rotational stiffness in line",
    "grip_stiffness_nmm": "rotational stiffness of the grips",
    "axial_stiffness_n_per_mm": "axial stiffness",
    "slopes": "slopes",
    "start_mm": "crack size at the start",
    "static_bending_mpa": "lasting bending stress",
    "static_membrane_mpa": "lasting membrane stress",
    "stiffness_ratio": "stiffness ratio of the joint",
    "stress_kind": "stress it is meant for",
    "stress_mpa": "stress path, stress",
    "survival_probability": "survival probability",
    "thickness_mm": "plate thickness",
    "threshold": "published threshold",
    "threshold_form": "form of the threshold",
    "threshold_mpa_sqrt_mm": "threshold",
    "toe_footprint_mm": "attachment with its welds, length",
    "toe_form": "form of the weld toe",
    "toughness_mpa_sqrt_mm": "fracture toughness",
    "transitions": "cycles between the blocks",
    "ultimate_strength_mpa": "tensile strength",
    "units": "unit system of the law",
    "weights": "weight of mode",
    "modes_mpa": "stress of mode",
    "width_mm": "width of the plate",
    "half_width_mm": "half width of the plate",
    "yield_strength_mpa": "yield strength",
    "youngs_modulus_mpa": "Young's modulus",
    "zone_state": "plastic zone",
}
CHOICES = {
    ("below_knee", "as-curve"): "as the curve of the document",
    ("control", "force"): "a force",
    ("cycles", "governing"): "a loop of the governing mode",
    ("control", "displacement"): "a displacement",
    ("crack.kind", "centre"): "through crack in the middle of a plate",
    ("crack.kind", "edge"): "straight crack from an edge",
    ("crack.kind", "family"): "of a family",
    ("crack.kind", "surface"): "semi-elliptical surface crack",
    ("crack.kind", "table"): "of a table of stress intensities",
    ("definition", "governing"): "a loop of the governing mode",
    ("loading", "constant"): "constant amplitude",
    ("loading", "variable"): "variable amplitude",
    ("loading.kind", "blocks"): "blocks that repeat",
    ("loading.kind", "constant"): "equal cycles",
    ("residue", "closed"): "closed: the record repeats",
    ("residue", "half"): "half cycles: the record happens once",
    ("transitions", "added"): "added once a repeat",
    ("transitions", "in-entries"): "held by the blocks",
}


def field_words(parent: str, name: str) -> tuple[str, str]:
    """What a field is called, and its unit.

    >>> field_words("crack", "half_length_mm"), field_words("law", "name"), field_words("", "scatter_index")
    (('half length of the crack', 'mm'), ('published law', ''), ('scatter index', ''))
    """
    words, unit = named(name)
    if name in quantities.all_quantities() and not unit:
        known = quantities.quantity(name).unit
        unit = known if known != "-" else ""
    return NAMES.get(f"{parent}.{name}") or NAMES.get(name) or words, unit


def choice_words(parent: str, name: str, value: str) -> str:
    """What a choice means, its word as it is where that says enough.

    >>> choice_words("crack", "kind", "edge"), choice_words("", "condition", "as-welded")
    ('straight crack from an edge', 'as-welded')
    """
    return CHOICES.get((f"{parent}.{name}", value)) or CHOICES.get((name, value)) or value
