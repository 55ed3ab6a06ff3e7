from fatcore.cracks.configurations.plates import SurfaceCrack as SurfaceCrack
from fatcore.cracks.configurations.sharing import Member as Member
from fatcore.cracks.configurations.sharing import Sharing as Sharing
from fatcore.cracks.configurations.straight import CentreCrack as CentreCrack
from fatcore.cracks.configurations.straight import EdgeCrack as EdgeCrack
from fatcore.cracks.configurations.stress_field import Stress as Stress
from fatcore.cracks.driving.law import GrowthLaw as GrowthLaw
from fatcore.cracks.driving.law import paris as paris
from fatcore.cracks.driving.law_sets import law_names as law_names
from fatcore.cracks.driving.law_sets import named_law as named_law
from fatcore.cracks.driving.load_blocks import (
    block_loading as block_loading,
)
from fatcore.cracks.driving.load_blocks import (
    constant_loading as constant_loading,
)
from fatcore.cracks.fracture.assessment import Strength as Strength
from fatcore.cracks.fracture.assessment import assess_fracture as assess_fracture
from fatcore.cracks.fracture.critical_size import find_critical_size as find_critical_size
from fatcore.cracks.growth.end_criteria import EndCriteria as EndCriteria
from fatcore.cracks.growth.inspection import plan_inspections as plan_inspections
from fatcore.cracks.growth.life import GrowthOutcome as GrowthOutcome
from fatcore.cracks.growth.life import grow as grow
from fatcore.cracks.intensity.families import family as family
from fatcore.cracks.scatter.monte_carlo import simulate_scatter as simulate_scatter
