from fatcore.check.complete import (
    CheckOutcome as CheckOutcome,
)
from fatcore.check.complete import (
    LineOutcome as LineOutcome,
)
from fatcore.check.complete import (
    check_lines as check_lines,
)
from fatcore.check.line import Material as Material
from fatcore.check.line import Mesh as Mesh
from fatcore.check.line import Notch as Notch
from fatcore.check.line import WeldLine as WeldLine
from fatcore.check.loading import (
    Block as Block,
)
from fatcore.check.loading import (
    BlockLoading as BlockLoading,
)
from fatcore.check.loading import (
    HistoryLoading as HistoryLoading,
)
from fatcore.check.loading import (
    LoadState as LoadState,
)
from fatcore.check.strength.resistance import Resistance as Resistance
from fatcore.check.strength.resistance import Target as Target
