"""Stress-intensity factors for a wide range of semi-elliptical surface cracks in finite-thickness plates.

Engineering Fracture Mechanics 11 (1979) 817-829 (NASA TP-1578), table of boundary corrections in tension;
from memory. The equations of 1981 are a fit to this table with 5 % stated for a/t up to 0.8, so that no
tighter tolerance can be asked: the largest differences, 4.4 to 7.5 % by aspect ratio, are listed with the
table. The values at a/t = 0.8 also hold an effect of the finite width that the equations here leave out.
"""

import numpy as np
import pytest

from fatcore.cracks.intensity.solid import surface
from fatcore.tables import load
from fatcore.verification.case import VerificationCase, run
from fatcore.verification.cracks import CASES

TABLE = load("cracks/raju_newman_1979_tension")
ANGLES = 90.0 * np.array(TABLE["angle_over_right"])
MINE = [check for check in CASES if check.source == "raju-newman-1979"]


def equation(row: list[str]) -> np.ndarray:
    ratio, relative = float(row[0]), float(row[1])
    factor = surface.geometry_factors(relative, relative / ratio, 1.0, angle_deg=ANGLES).tension
    return np.asarray(factor * np.sqrt(surface.shape_factor(ratio)))


@pytest.mark.parametrize("row", TABLE["rows"], ids=[f"{row[0]}-{row[1]}" for row in TABLE["rows"]])
def test_whole_front(row: list[str]) -> None:
    printed = np.array([float(value) for value in row[2:]])
    assert np.abs(equation(row) / printed - 1.0).max() <= TABLE["tolerance"][row[0]] + 5e-4


@pytest.mark.parametrize(("ratio", "largest"), [("0.2", 0.005), ("0.4", 0.013), ("0.6", 0.013), ("1.0", 0.013)])
def test_deepest_point_up_to_six_tenths(ratio: str, largest: float) -> None:
    rows = [row for row in TABLE["rows"] if row[0] == ratio and float(row[1]) <= 0.6]
    assert max(abs(equation(row)[-1] / float(row[-1]) - 1.0) for row in rows) <= largest + 5e-4


@pytest.mark.parametrize("check", MINE, ids=[check.id for check in MINE])
def test_value(check: VerificationCase) -> None:
    (result,) = run([check])
    assert result.passed, f"{check.where}: {result.computed} instead of {check.expected}"
