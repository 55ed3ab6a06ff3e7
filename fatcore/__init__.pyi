from fatcore.check import (
    Block as Block,
)
from fatcore.check import (
    BlockLoading as BlockLoading,
)
from fatcore.check import (
    CheckOutcome as CheckOutcome,
)
from fatcore.check import (
    HistoryLoading as HistoryLoading,
)
from fatcore.check import (
    LineOutcome as LineOutcome,
)
from fatcore.check import (
    LoadState as LoadState,
)
from fatcore.check import (
    Material as Material,
)
from fatcore.check import (
    Mesh as Mesh,
)
from fatcore.check import (
    Notch as Notch,
)
from fatcore.check import (
    Resistance as Resistance,
)
from fatcore.check import (
    Target as Target,
)
from fatcore.check import (
    WeldLine as WeldLine,
)
from fatcore.check import (
    check_lines as check_lines,
)
from fatcore.cracks import (
    CentreCrack as CentreCrack,
)
from fatcore.cracks import (
    EdgeCrack as EdgeCrack,
)
from fatcore.cracks import (
    EndCriteria as EndCriteria,
)
from fatcore.cracks import (
    GrowthLaw as GrowthLaw,
)
from fatcore.cracks import (
    GrowthOutcome as GrowthOutcome,
)
from fatcore.cracks import (
    Member as Member,
)
from fatcore.cracks import (
    Sharing as Sharing,
)
from fatcore.cracks import (
    Strength as Strength,
)
from fatcore.cracks import (
    Stress as Stress,
)
from fatcore.cracks import (
    SurfaceCrack as SurfaceCrack,
)
from fatcore.cracks import (
    assess_fracture as assess_fracture,
)
from fatcore.cracks import (
    block_loading as block_loading,
)
from fatcore.cracks import (
    constant_loading as constant_loading,
)
from fatcore.cracks import (
    family as family,
)
from fatcore.cracks import (
    find_critical_size as find_critical_size,
)
from fatcore.cracks import (
    grow as grow,
)
from fatcore.cracks import (
    law_names as law_names,
)
from fatcore.cracks import (
    named_law as named_law,
)
from fatcore.cracks import (
    paris as paris,
)
from fatcore.cracks import (
    plan_inspections as plan_inspections,
)
from fatcore.cracks import (
    simulate_scatter as simulate_scatter,
)
from fatcore.curves import (
    Curve as Curve,
)
from fatcore.curves import (
    CurveResistance as CurveResistance,
)
from fatcore.curves import (
    curve_life as curve_life,
)
from fatcore.curves import (
    curve_strength as curve_strength,
)
from fatcore.curves import (
    describe_curve as describe_curve,
)
from fatcore.curves import (
    find_curve as find_curve,
)
from fatcore.curves import (
    list_curves as list_curves,
)
from fatcore.curves import (
    make_resistance as make_resistance,
)
from fatcore.curves import (
    user_defined_curve as user_defined_curve,
)
from fatcore.errors import FatcoreError as FatcoreError
from fatcore.errors import InputError as InputError
from fatcore.findings import Finding as Finding
from fatcore.outcome import Outcome as Outcome
from fatcore.spectrum import (
    Cycles as Cycles,
)
from fatcore.spectrum import (
    DamageSum as DamageSum,
)
from fatcore.spectrum import (
    damage_of_cycles as damage_of_cycles,
)
from fatcore.spectrum import (
    damage_sum as damage_sum,
)
from fatcore.spectrum import (
    long_term_damage as long_term_damage,
)
from fatcore.spectrum import (
    mode_cycles as mode_cycles,
)
from fatcore.spectrum import (
    rainflow as rainflow,
)
from fatcore.spectrum import (
    random_damage as random_damage,
)
from fatcore.stress import (
    AveragedEnergy as AveragedEnergy,
)
from fatcore.stress import (
    HotSpot as HotSpot,
)
from fatcore.stress import (
    Interaction as Interaction,
)
from fatcore.stress import (
    Linearised as Linearised,
)
from fatcore.stress import (
    LineStresses as LineStresses,
)
from fatcore.stress import (
    NotchConstants as NotchConstants,
)
from fatcore.stress import (
    PeakWeights as PeakWeights,
)
from fatcore.stress import (
    calibrate_element as calibrate_element,
)
from fatcore.stress import (
    combine_crane as combine_crane,
)
from fatcore.stress import (
    combine_en as combine_en,
)
from fatcore.stress import (
    combine_iiw as combine_iiw,
)
from fatcore.stress import (
    energy_from_intensities as energy_from_intensities,
)
from fatcore.stress import (
    energy_from_sector as energy_from_sector,
)
from fatcore.stress import (
    evaluate_line as evaluate_line,
)
from fatcore.stress import (
    hot_spot_from_path as hot_spot_from_path,
)
from fatcore.stress import (
    linearise_path as linearise_path,
)
from fatcore.stress import (
    notch_constants as notch_constants,
)
from fatcore.stress import (
    peak_weights as peak_weights,
)
from fatcore.stress import (
    peaks_from_tensors as peaks_from_tensors,
)
from fatcore.stress import (
    section_stress as section_stress,
)

__version__: str
