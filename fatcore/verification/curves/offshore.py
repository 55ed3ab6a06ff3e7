"""Numbers printed in the offshore documents, and the calculations that must give them."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from fatcore.curves.corrections import partial_factors
from fatcore.curves.standards.catalogue import find_curve
from fatcore.curves.standards.reading import all_rows
from fatcore.verification.case import VerificationCase
from fatcore.verification.curves._lookups import (
    branch_range,
    check,
    damage_of,
    life_at,
    log10_below,
    range_at,
    rows_in,
)

_BS = "bs-7608-1993"
_DNV = "dnv-rp-c203-2016"
_ISO = "iso-19902-2007"
_HSE = "hse-1995"
_THREE_DECIMALS = "the printed log10 constants carry three decimals"


def _dnv() -> Iterator[VerificationCase]:
    for row in rows_in(_DNV, "air"):
        yield from _dnv_class(row.label, str(row.entry["printed_range_at_1e7_mpa"]))
    for row in rows_in(_DNV, "seawater-protected"):
        if row.label != "T":
            yield check(
                f"dnv-{row.label}-protected",
                f"class {row.label}, cathodic protection: gap of the printed branches at 1e6 cycles [MPa]",
                _DNV,
                "table 2-2",
                "0.00",
                _gap(row.id, 1e6),
                tolerance=0.035,
                why=_THREE_DECIMALS,
            )
    yield from _dnv_lives()


def _dnv_class(label: str, limit: str) -> Iterator[VerificationCase]:
    curve_id = f"{_DNV}-{label.lower()}-air"
    doubtful = label == "T"
    for branch in (0, 1):
        yield check(
            f"dnv-{label}-{branch + 1}",
            f"class {label} in air: range at 1e7 cycles, printed branch {branch + 1} [MPa]",
            _DNV,
            "table 2-1",
            limit,
            branch_range(curve_id, branch, 1e7),
            tolerance=0.11 if doubtful else 0.03,
            why="the printed branches of class T do not meet" if doubtful else _THREE_DECIMALS,
        )


def _dnv_lives() -> Iterator[VerificationCase]:
    d, f1 = f"{_DNV}-d-air", f"{_DNV}-f1-air"
    blocks = ((120.0, 1e5), (60.0, 1e6), (40.0, 5e6))
    joined = "below the knee the curve is joined on the first printed branch, which moves it 0.15 % in life"
    rows: tuple[tuple[str, str, str, Callable[[], float], float | None, str], ...] = (
        ("d-life", "life at 100 MPa, class D in air", "1.4588e6", life_at(d, 100.0), None, ""),
        ("f1-damage", "damage of 1e6 cycles of 60 MPa, F1", "0.43197", damage_of(f1, (60.0, 1e6)), None, ""),
        ("d-block-120", "damage of 1e5 cycles of 120 MPa, D", "0.11845", damage_of(d, blocks[0]), None, ""),
        ("d-block-60", "damage of 1e6 cycles of 60 MPa, D", "0.14807", damage_of(d, blocks[1]), None, ""),
        ("d-block-40", "the same of 5e6 of 40 MPa", "0.12684", damage_of(d, blocks[2]), 2e-4, joined),
        ("d-sum", "damage of the three blocks, D in air", "0.39336", damage_of(d, *blocks), 2e-4, joined),
        ("d-printed-40", "40 MPa on the printed branch", "0.12684", _printed_damage(d, 40.0, 5e6), None, ""),
    )
    for name, title, expected, compute, tolerance, why in rows:
        yield check(
            f"dnv-{name}",
            title,
            _DNV,
            "table 2-1",
            expected,
            compute,
            status="derived",
            tolerance=tolerance,
            why=why,
        )


def _dnv_classes() -> Iterator[VerificationCase]:
    ranges = (160, 140, 125, 112, 100, 90, 80, 71, 63, 56, 50, 45, 40, 36)
    for row, expected in zip(rows_in(_DNV, "free-corrosion"), ranges, strict=True):
        air = f"{_DNV}-{row.label.lower()}-air"
        title = f"class {row.label} in air: range at 2e6 cycles [MPa]"
        yield check(
            f"dnv-{row.label}-class",
            title,
            _DNV,
            "table 2-1",
            f"{expected}",
            range_at(air, 2e6),
            tolerance=0.06,
            why=_THREE_DECIMALS,
        )
        if row.label not in ("B1", "B2"):  # their slope in air is 4: the lines are not parallel
            yield check(
                f"dnv-{row.label}-free",
                f"class {row.label}: log10 life, air less free corrosion",
                _DNV,
                "table 2-4",
                "0.4771",
                log10_below(air, row.id),
                tolerance=0.001,
                why="log10 of 3, between constants of three decimals each",
            )


def _iso() -> Iterator[VerificationCase]:
    printed = (("TJ", "1.8e6"), ("B", "1.0e5"), ("C", "4.68e5"), ("D", "1.0e6"))
    for label, expected in printed:
        title = f"class {label} in protected seawater: life where the branches meet"
        rough = label in ("B", "D")
        why = "the printed knee is rounded; the printed constants carry two decimals" if rough else ""
        yield check(
            f"iso-{label}",
            title,
            _ISO,
            "table 16.11-1",
            expected,
            _knee(label),
            status="read",
            tolerance=0.03 * float(expected) if rough else None,
            why=why,
        )
    for label in ("B", "C", "D", "E", "F", "F2", "G"):
        yield check(
            f"iso-bs-{label}",
            f"class {label}: log10 design constant of BS 7608 less that of ISO 19902 in protected seawater",
            _ISO,
            "table 16.11-1 against the design constants of BS 7608:1993",
            "0.3979",
            _between_documents(label),
            status="derived",
            tolerance=0.0065,
            why="log10 of 2.5; the constants of ISO 19902 carry two decimals",
        )


def _hse() -> Iterator[VerificationCase]:
    for label, expected in (("E", "1.14"), ("F", "1.34"), ("F2", "1.52"), ("G", "1.83"), ("W", "2.13")):
        title = f"class {label} against D: factor on range from the design constants of BS 7608"
        where = "Marine Structural Design, p. 333"
        yield check(f"hse-{label}", title, _HSE, where, expected, _from_bs(label), status="read")
        title = f"class {label} against D: factor on range in the table"
        yield check(f"hse-{label}-table", title, _HSE, where, expected, _in_table(label), status="read")


def _gap(curve_id: str, cycles: float) -> Callable[[], float]:
    first, second = branch_range(curve_id, 0, cycles), branch_range(curve_id, 1, cycles)
    return lambda: second() - first()


def _printed_damage(curve_id: str, stress_mpa: float, cycles: float) -> Callable[[], float]:
    entry = all_rows()[curve_id].entry
    constant, slope = entry["log10_constants"][1], entry["slopes"][1]
    return lambda: float(cycles * stress_mpa**slope / 10.0**constant)


def _knee(label: str) -> Callable[[], float]:
    return lambda: find_curve(f"{_ISO}-{label.lower()}-seawater-protected").knee_cycles()[0]


def _between_documents(label: str) -> Callable[[], float]:
    return log10_below(f"{_BS}-{label.lower()}", f"{_ISO}-{label.lower()}-seawater-protected")


def _from_bs(label: str) -> Callable[[], float]:
    return lambda: float(10.0 ** (log10_below(f"{_BS}-d", f"{_BS}-{label.lower()}")() / 3.0))


def _in_table(label: str) -> Callable[[], float]:
    return lambda: 1.0 / float(partial_factors.class_factor(label, f"{_BS}-d").strength_factor)


CASES: tuple[VerificationCase, ...] = (*_dnv(), *_dnv_classes(), *_iso(), *_hse())
