"""How a verification case of this topic is written down."""

from __future__ import annotations

from functools import partial

from fatcore.verification.case import case_of

check = partial(case_of, "trials")
