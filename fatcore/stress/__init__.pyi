from fatcore.stress.interaction import (
    Interaction as Interaction,
)
from fatcore.stress.interaction import (
    combine_crane as combine_crane,
)
from fatcore.stress.interaction import (
    combine_en as combine_en,
)
from fatcore.stress.interaction import (
    combine_iiw as combine_iiw,
)
from fatcore.stress.notch.constants import (
    NotchConstants as NotchConstants,
)
from fatcore.stress.notch.constants import (
    notch_constants as notch_constants,
)
from fatcore.stress.notch.energy import (
    AveragedEnergy as AveragedEnergy,
)
from fatcore.stress.notch.energy import (
    energy_from_intensities as energy_from_intensities,
)
from fatcore.stress.notch.energy import (
    energy_from_sector as energy_from_sector,
)
from fatcore.stress.peak.calibration import calibrate_element as calibrate_element
from fatcore.stress.peak.line_evaluation import (
    LineStresses as LineStresses,
)
from fatcore.stress.peak.line_evaluation import (
    evaluate_line as evaluate_line,
)
from fatcore.stress.peak.line_evaluation import (
    peaks_from_tensors as peaks_from_tensors,
)
from fatcore.stress.peak.peak_weights import PeakWeights as PeakWeights
from fatcore.stress.peak.peak_weights import peak_weights as peak_weights
from fatcore.stress.section.joint import section_stress as section_stress
from fatcore.stress.structural.hot_spot import HotSpot as HotSpot
from fatcore.stress.structural.hot_spot import hot_spot_from_path as hot_spot_from_path
from fatcore.stress.structural.linearise import Linearised as Linearised
from fatcore.stress.structural.linearise import linearise_path as linearise_path
