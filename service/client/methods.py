"""The methods of the clients: one table of every calculation, which both clients share."""

from __future__ import annotations

from ..topics import meta as meta_
from ..topics.check import models as check_
from ..topics.cracks import intensity_models as intensity_
from ..topics.cracks import routes as cracks_
from ..topics.cracks import scatter as scatter_
from ..topics.curves import models as curve_models_
from ..topics.curves import routes as curves_
from ..topics.spectrum import models as spectrum_
from ..topics.stress import models as stress_
from ..topics.stress import section as section_
from ..topics.stress import weld_lines as weld_lines_
from ..topics.trials import growth as growth_
from ..topics.trials import length as length_
from ..topics.trials import sn as sn_
from ..topics.trials import staircase as staircase_
from .routes import Route


class Routes:
    """Every calculation of the service by topic."""

    stress_peak = Route("POST", "stress/peak", stress_.PeakRequest, stress_.PeakAnswer)
    stress_energy = Route("POST", "stress/energy", stress_.EnergyRequest, stress_.EnergyAnswer)
    stress_hot_spot = Route("POST", "stress/hot-spot", stress_.HotSpotRequest, stress_.HotSpotAnswer)
    stress_linearise = Route("POST", "stress/linearise", stress_.LineariseRequest, stress_.LineariseAnswer)
    stress_interaction = Route("POST", "stress/interaction", stress_.InteractionRequest, stress_.InteractionAnswer)
    stress_notch_constants = Route("GET", "stress/notch-constants", stress_.NotchRequest, stress_.NotchAnswer)
    stress_element_constant = Route("POST", "stress/element-constant", stress_.ConstantRequest, stress_.ConstantAnswer)
    stress_section = Route("POST", "stress/section", section_.SectionRequest, section_.SectionAnswer)
    stress_weld_lines = Route("POST", "stress/weld-lines", weld_lines_.WeldLinesRequest, weld_lines_.WeldLinesAnswer)

    curves = Route("GET", "curves", curves_.ListRequest, curve_models_.ListAnswer)
    curve = Route("GET", "curves/{curve}", curves_.CurveRequest, curve_models_.CurveAnswer)
    curve_life = Route("GET", "curves/{curve}/life", curves_.LifeQuery, curves_.LifeOneAnswer)
    curve_strength = Route("GET", "curves/{curve}/strength", curves_.StrengthQuery, curves_.StrengthOneAnswer)
    curves_life = Route("POST", "curves/life", curves_.LifeRequest, curves_.LifeAnswer)
    curves_strength = Route("POST", "curves/strength", curves_.RangesRequest, curves_.StrengthAnswer)

    spectrum_cycles = Route("POST", "spectrum/cycles", spectrum_.CyclesRequest, spectrum_.CyclesAnswer)
    spectrum_damage = Route("POST", "spectrum/damage", spectrum_.DamageRequest, spectrum_.DamageAnswer)
    spectrum_random = Route("POST", "spectrum/random", spectrum_.RandomRequest, spectrum_.RandomAnswer)
    spectrum_long_term = Route("POST", "spectrum/long-term", spectrum_.LongTermRequest, spectrum_.LongTermAnswer)
    spectrum_steps = Route("POST", "spectrum/steps", spectrum_.StepsRequest, spectrum_.StepsAnswer)
    spectrum_crane_class = Route("GET", "spectrum/crane-class", spectrum_.CraneRequest, spectrum_.CraneAnswer)

    cracks_families = Route("GET", "cracks/families", intensity_.FamiliesRequest, intensity_.FamiliesAnswer)
    cracks_intensity = Route("POST", "cracks/intensity", intensity_.IntensityRequest, intensity_.IntensityAnswer)
    cracks_growth = Route("POST", "cracks/growth", cracks_.GrowthRequest, cracks_.DescribedGrowthAnswer)
    cracks_scatter = Route("POST", "cracks/scatter", scatter_.ScatterRequest, scatter_.ScatterAnswer)
    cracks_fracture = Route("POST", "cracks/fracture", scatter_.FractureRequest, scatter_.FractureAnswer)
    cracks_critical_size = Route("POST", "cracks/critical-size", scatter_.CriticalRequest, scatter_.CriticalAnswer)
    cracks_inspection = Route("POST", "cracks/inspection", cracks_.InspectionRequest, cracks_.InspectionAnswer)
    cracks_mixed_mode = Route("POST", "cracks/mixed-mode", cracks_.MixedModeRequest, cracks_.MixedModeAnswer)

    trials_sn_line = Route("POST", "trials/sn-line", sn_.SnRequest, sn_.SnAnswer)
    trials_staircase = Route("POST", "trials/staircase", staircase_.StaircaseRequest, staircase_.StaircaseAnswer)
    trials_growth_rate = Route("POST", "trials/growth-rate", growth_.GrowthRateRequest, growth_.GrowthRateAnswer)
    trials_crack_length = Route("POST", "trials/crack-length", length_.CrackLengthRequest, length_.CrackLengthAnswer)

    check = Route("POST", "check", check_.CheckRequest, check_.CheckAnswer)

    version = Route("GET", "version", meta_.Nothing, meta_.VersionAnswer)
    sources = Route("GET", "sources", meta_.Nothing, meta_.SourcesAnswer)
    findings = Route("GET", "findings", meta_.Nothing, meta_.FindingsAnswer)
    map_keys = Route("GET", "map-keys", meta_.Nothing, meta_.MapKeysAnswer)
    validation = Route("GET", "validation", meta_.Nothing, meta_.ValidationAnswer)
