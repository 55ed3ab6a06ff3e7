from fatcore.spectrum.counting.count import rainflow as rainflow
from fatcore.spectrum.counting.cycles import Cycles as Cycles
from fatcore.spectrum.damage.linear import (
    DamageSum as DamageSum,
)
from fatcore.spectrum.damage.linear import (
    damage_of_cycles as damage_of_cycles,
)
from fatcore.spectrum.damage.linear import (
    damage_sum as damage_sum,
)
from fatcore.spectrum.damage.long_term import long_term_damage as long_term_damage
from fatcore.spectrum.multiaxial.modes import mode_cycles as mode_cycles
from fatcore.spectrum.random.damage import random_damage as random_damage
