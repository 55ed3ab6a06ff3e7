"""Maps and tables of weld lines that would give too good a number: refused with the place in the map."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from service import cli
from tests.api.test_command_line import LONG, LOOP_MAP, WHOLE, loop_table
from tests.api.test_other_models import FACTORS, SHIFT, TURN, answer, table_and_map
from tests.bracket import DATA
from tests.notch_models import helix, tube

TABLE = loop_table(WHOLE)
BRACKET = (DATA / "notch_lines_d0p75.csv").read_text(encoding="utf-8")


def run(folder: Path, table: str, table_map: str) -> int:
    (folder / "map.toml").write_text(table_map, encoding="utf-8")
    (folder / "table.csv").write_text(table, encoding="utf-8")
    out = str(folder / "check.json")
    return cli.main(["lines", str(folder / "table.csv"), "--map", str(folder / "map.toml"), "-o", out])


def made(folder: Path, table: str, table_map: str) -> dict[str, Any]:
    assert run(folder, table, table_map) == 0
    request: dict[str, Any] = json.loads((folder / "check.json").read_text(encoding="utf-8"))
    return request


def refusal(folder: Path, table: str, table_map: str, capsys: pytest.CaptureFixture[str]) -> str:
    assert run(folder, table, table_map) == 2
    return capsys.readouterr().err


# frames from hints


def vector(values: np.ndarray) -> str:
    return str(np.asarray(values, dtype=float).tolist())


@pytest.mark.parametrize("angle", [0.0, 135.0])
@pytest.mark.parametrize("placed", ["as built", "turned"])
def test_round_parts_have_the_exact_energy_from_their_axis(tmp_path: Path, angle: float, placed: str) -> None:
    """A toe that climbs round a shaft: its plate normal is the radius; a loop whose weld lies inside."""
    climbing, loop = helix(angle), tube(angle)
    axis, origin = np.array([0.0, 0.0, 1.0]), np.zeros(3)
    if placed == "turned":
        climbing, loop = climbing.turned(TURN, SHIFT), loop.turned(TURN, SHIFT)
        axis, origin = TURN.apply(axis), SHIFT
    outward = f'plate_normal_from = {{point_mm = {vector(origin)}, axis = {vector(axis)}, sense = "outward"}}\n'
    outward += f"weld_direction = {vector(axis)}\n"
    inward = f'weld_direction_from = {{point_mm = {vector(origin)}, axis = {vector(axis)}, sense = "inward"}}\n'
    inward += f"plate_normal = {vector(axis)}\n"
    centre = inward.replace(f", axis = {vector(axis)}", "", 1)
    for model, side in ((climbing, outward), (loop, inward), (loop, centre)):
        request = made(tmp_path, *table_and_map(model, True, 1, side=side))
        (line,) = answer("check", request)["lines"]
        stress, _ = model.equivalent(FACTORS, 1)
        np.testing.assert_allclose(line["equivalent_stress_mpa"], stress, rtol=1e-9)


HINTS = {
    "a constant direction on a loop": (
        tube,
        "plate_normal = [0.0, 0.0, 1.0]\nweld_direction = [-1.0, 0.0, 0.0]",
        "which side",
    ),
    "a point outside a loop": (
        tube,
        "plate_normal = [0.0, 0.0, 1.0]\nweld_towards_mm = [90.0, 2.0, 0.0]",
        "changes its side",
    ),
    "a constant normal round a shaft": (
        helix,
        "plate_normal = [1.0, 0.0, 0.0]\nweld_direction = [0.0, 0.0, 1.0]",
        "right angle to the line",
    ),
    "a direction along the normal": (
        tube,
        "plate_normal = [0.0, 0.0, 1.0]\nweld_direction = [0.1, 0.1, 1.0]",
        "which side",
    ),
    "a station on the axis": (
        tube,
        "plate_normal = [0.0, 0.0, 1.0]\n"
        'weld_direction_from = {point_mm = [30.0, 0.0, 0.0], axis = [0.0, 0.0, 1.0], sense = "inward"}',
        "no length",
    ),
}


@pytest.mark.parametrize("angle", [0.0, 135.0])
@pytest.mark.parametrize("case", HINTS)
def test_hints_that_do_not_fit_the_line_are_refused(
    tmp_path: Path, case: str, angle: float, capsys: pytest.CaptureFixture[str]
) -> None:
    model, side, message = HINTS[case]
    for geometry in (True, False):
        err = refusal(tmp_path, *table_and_map(model(angle), geometry, 1, side=side), capsys)
        assert message in err
        assert "/lines/0" in err
        assert "line 'line'" in err


def test_radial_rules_need_coordinates(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bare = LONG.replace('coordinates_mm = { x = "x", y = "y", z = "z" }\n', "")
    bare = bare.replace('bisector = { x = "bx", y = "by", z = "bz" }\n', "")
    radial = '{point_mm = [0.0, 0.0, 0.0], sense = "outward"}'
    bare = bare.replace('kind = "toe"', f'plate_normal_from = {radial}\nkind = "toe"')
    bare = bare.replace('kind = "root"', f'plate_normal_from = {radial}\nkind = "root"')
    assert "needs the coordinates" in refusal(tmp_path, BRACKET, bare, capsys)


# no invented values


@pytest.mark.parametrize(
    "key", ["kind", "opening_angle_deg", "notch_size_mm", "element", "element_size_mm", "average_over"]
)
def test_what_changes_the_result_has_no_default(tmp_path: Path, key: str, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [row for row in LOOP_MAP.splitlines() if not row.startswith(f"{key} ")]
    assert f"/lines/0/{key}: needed" in refusal(tmp_path, TABLE, "\n".join(rows), capsys)


def test_a_mesh_rule_that_is_not_judged_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    request = made(tmp_path, TABLE, LOOP_MAP.replace("notch_size_mm = 6.0", 'notch_size_mm = "not-judged"'))
    assert request["lines"][0]["notch"]["notch_size_mm"] is None
    told = capsys.readouterr().err
    assert "size to mesh size not judged: line" in told
    assert "bisector by plate normal (outward on faith) and side" in " ".join(told.split())


TWOFOLD = {
    "normal beside a bisector": (
        LONG.replace('kind = "toe"', 'kind = "toe"\nplate_normal = [0.0, 0.0, 1.0]', 1),
        BRACKET,
        "/lines/1/plate_normal: not used",
    ),
    "column of normals beside a bisector": (
        LONG.replace("[[lines]]", 'plate_normal = { x = "x", y = "y", z = "z" }\n[[lines]]', 1),
        BRACKET,
        "not used: the table has the bisector",
    ),
    "two normals": (
        LOOP_MAP.replace(
            "plate_normal",
            'plate_normal_from = {point_mm = [0.0, 0.0, 0.0], sense = "outward"}\nplate_normal',
        ),
        TABLE,
        "/lines/0/plate_normal: give one of",
    ),
    "two sides": (
        LOOP_MAP.replace("weld_towards", "weld_direction = [1.0, 0.0, 0.0]\nweld_towards"),
        TABLE,
        "/lines/0/weld_direction: give one of",
    ),
    "lines in the request": (
        LOOP_MAP.replace("[request.loading]", "[request]\nlines = []\n[request.loading]"),
        TABLE,
        "/request/lines: the lines come",
    ),
    "one column for two components": (
        LOOP_MAP.replace('yy = "a22"', 'yy = "a11"', 1),
        TABLE,
        "/table/cases/pull: one column",
    ),
    "case in a wide table": (
        LOOP_MAP.replace('form = "wide"', 'form = "wide"\ncase = "X"'),
        TABLE,
        "does not use `case`",
    ),
    "a rule that another takes": (
        LOOP_MAP + LOOP_MAP[LOOP_MAP.index("[[lines]]") : LOOP_MAP.index("[request")],
        TABLE,
        "/lines/1/match: no line falls",
    ),
    "a rule with a slip in its pattern": (
        LONG.replace('"*_root"', '"*_roots"') + "",
        BRACKET,
        "no rule of the map matches the line 'R1P_root'",
    ),
}


@pytest.mark.parametrize("case", TWOFOLD)
def test_what_would_be_dropped_is_refused(tmp_path: Path, case: str, capsys: pytest.CaptureFixture[str]) -> None:
    table_map, table, message = TWOFOLD[case]
    assert message in refusal(tmp_path, table, table_map, capsys)


# the request is validated there and then

REQUESTS = {
    "unknown key": (
        'kind = "constant"',
        'kind = "constant"\ncycels = 5.0',
        "/request/loading/cycels: unknown key, did you mean 'cycles'?",
    ),
    "unknown part": (
        "[request.loading]",
        "[request.targets]\nrepeats = 2.0\n[request.loading]",
        "/request/targets: unknown key, did you mean 'target'?",
    ),
    "no loading": (
        LOOP_MAP[LOOP_MAP.index("[request.loading]") :],
        "[request]\n",
        "/request/loading: loading is needed",
    ),
    "value that no curve knows": (
        "[request.loading]",
        '[request.curves]\nrule = "fixed"\ncurve = "no-such"\n[request.loading]',
        "/request/curves/curve: unknown",
    ),
    "load case that the table lacks": (
        "factors = { pull",
        "factors = { push",
        "/request/loading/factors/push: no line has the load case 'push'",
    ),
    "survival of one": (
        "[request.loading]",
        "[request.target]\nsurvival_probability = 1.0\n[request.loading]",
        "/request/target/survival_probability",
    ),
    "element without constants": (
        'element = "brick8"\n',
        'element = "own"\n',
        "/lines/0/constants/tearing: line 'line': element 'own' needs a constant",
    ),
    "unknown key of a rule": (
        "average_over = 1",
        "average_over = 1\nmesh_sise_mm = 2.0",
        "/lines/0/mesh_sise_mm: unknown key, did you mean 'element_size_mm'?",
    ),
    "unknown mode": (
        "opening = 1.4",
        "openning = 1.4",
        "/lines/0/constants/openning: unknown key, did you mean 'opening'?",
    ),
    "unknown key of the table": (
        "decimal = ",
        "decimals = ",
        "/table/decimals: unknown key, did you mean 'decimal'?",
    ),
    "another loop than the nodes show": (
        "average_over = 1",
        "average_over = 1\nclosed = false",
        "/lines/0/closed: line 'line': the line is said to be open",
    ),
}


@pytest.mark.parametrize("case", REQUESTS)
def test_errors_point_into_the_map(tmp_path: Path, case: str, capsys: pytest.CaptureFixture[str]) -> None:
    old, new, message = REQUESTS[case]
    assert old in LOOP_MAP
    assert message in refusal(tmp_path, TABLE, LOOP_MAP.replace(old, new), capsys)


def test_all_stations_left_out_point_at_the_rule(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    far = LONG.replace("exclude_ends_mm = 7.0", "exclude_ends_mm = 70.0")
    assert "/lines/3/exclude_ends_mm: line 'R1P_root'" in refusal(tmp_path, BRACKET, far, capsys)


@pytest.mark.parametrize(
    ("place", "key", "message"),
    [
        ((), "lins", "unknown key, did you mean 'lines'? Allowed: coefficients, condition"),
        (("lines", 0, "mesh"), "colour", "unknown key. Allowed: constants, element, element_size_mm"),
        (
            ("lines", 0, "cases", "pull"),
            "peak_mpa",
            "did you mean 'peaks_mpa'? Allowed: normal_mpa, peaks_mpa",
        ),
        (("loading",), "cycels", "did you mean 'cycles'? Allowed: cycles, description, factors, kind"),
        (("loading", "factors", "pull"), "max", "Allowed: maximum, minimum"),
        (("curves",), "curv", "did you mean 'curve'?"),
    ],
)
def test_every_route_names_the_nearest_key(
    client: httpx.Client, place: tuple[Any, ...], key: str, message: str
) -> None:
    request: dict[str, Any] = {
        "lines": [
            {
                "name": "a",
                "position_mm": [0.0],
                "mesh": {"element": "quad4", "element_size_mm": 1.0},
                "cases": {"pull": {}},
            }
        ],
        "loading": {"kind": "constant", "cycles": 1.0, "factors": {"pull": {"maximum": 1.0, "minimum": 0.0}}},
        "curves": {"rule": "fixed", "curve": "x"},
    }
    part: Any = request
    for step in place:
        part = part[step]
    part[key] = 1.0
    errors = client.post("/v1/check", json=request).json()["errors"]
    (found,) = [error["message"] for error in errors if error["pointer"].endswith("/" + key)]
    assert message in found


@pytest.mark.parametrize(
    ("given", "bad", "key"),
    [
        ('kind = "toe"', 'kind = "tow"', "kind"),
        ("opening_angle_deg = 135.0", "opening_angle_deg = 190.0", "opening_angle_deg"),
        ("notch_size_mm = 6.0", "notch_size_mm = -6.0", "notch_size_mm"),
        ('element = "brick8"', 'element = "brick9"', "element"),
        ("element_size_mm = 3.1", "element_size_mm = 0.0", "element_size_mm"),
        ("opening = 1.4", "opening = -1.4", "constants/opening"),
    ],
)
def test_what_the_check_refuses_of_a_line_is_named_where_the_map_has_it(
    tmp_path: Path, given: str, bad: str, key: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert given in LOOP_MAP
    said = refusal(tmp_path, TABLE, LOOP_MAP.replace(given, bad), capsys)
    assert f"/lines/0/{key}:" in said


# order, loops, cases


def ordered_loop(numbers: list[float]) -> tuple[str, str]:
    rows = TABLE.split("\r\n")
    body = [f"{row};{number}" for row, number in zip(rows[1:-1], numbers, strict=True)]
    table = "\n".join([rows[0] + ";seq", *body]).replace(".", ",")
    return table, LOOP_MAP.replace('delimiter = ";"', 'delimiter = ";"\norder = "seq"')


def test_a_loop_with_an_order_column_is_a_loop(tmp_path: Path) -> None:
    """Taken as open its seam would be an end, and an excluded one with exclude_ends_mm."""
    (line,) = made(tmp_path, *ordered_loop([float(i) for i in range(40)]))["lines"]
    assert line["closed"] is True


@pytest.mark.parametrize(
    ("numbers", "message"),
    [
        ([*range(39), 38], "gives two nodes the same location"),
        ([0, 20, *range(1, 20), *range(21, 40)], "two lines under one name, or nodes in another order"),
        ([*range(20), 21, 20, *range(22, 40)], "line 'line'"),
    ],
)
def test_an_order_that_jumps_is_refused(
    tmp_path: Path, numbers: list[float], message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert message in refusal(tmp_path, *ordered_loop(numbers), capsys)


def test_two_lines_under_one_name_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    header, *rows = BRACKET.splitlines()
    merged = [row.replace("R2P_root", "R1P_root") for row in rows if "R1P_root" in row or "R2P_root" in row]
    plain = LONG.replace('order = "seq"\n', "").replace('position_mm = "station_mm"\n', "")
    rules = plain[plain.index("[[lines]]") : plain.index("[request]")]
    table_map = plain.replace(rules, rules[rules.rindex("[[lines]]") :])
    assert "two lines under one name" in refusal(tmp_path, "\n".join([header, *merged]), table_map, capsys)


def changed(line: str, case: str, column: str, value: str, nth: int = 5) -> str:
    header, *rows = BRACKET.splitlines()
    names = header.split(",")
    places = [i for i, row in enumerate(rows) if row.startswith(f"{line},") and f",{case}," in row]
    cells = rows[places[nth]].split(",")
    cells[names.index(column)] = value
    rows[places[nth]] = ",".join(cells)
    return "\n".join([header, *rows])


CELLS = {
    "node number with a point": (
        ("R1P_root", "lateral", "node_id", "7.5"),
        "where a whole number was expected",
    ),
    "node of another case": (("R1P_root", "vertical", "node_id", "77777"), "lists other nodes"),
    "tangent of another case": (
        ("R1P_root", "vertical", "tx", "-1"),
        "differs from the first in column 'tx'",
    ),
    "coordinates of another case": (
        ("R1P_root", "vertical", "z", "9.5"),
        "differs from the first in column 'z'",
    ),
}


@pytest.mark.parametrize("case", CELLS)
def test_load_cases_share_nodes_and_geometry(tmp_path: Path, case: str, capsys: pytest.CaptureFixture[str]) -> None:
    cell, message = CELLS[case]
    table = changed(*cell)
    if case == "node number with a point":
        for other in ("vertical", "longitudinal"):
            rows, old = table.splitlines(), BRACKET.splitlines()
            at = [i for i, row in enumerate(old) if row.startswith("R1P_root,") and f",{other}," in row][5]
            wrong = next(row for row, one in zip(rows, old, strict=True) if row != one).split(",")
            cells = rows[at].split(",")
            cells[old[0].split(",").index("node_id")] = wrong[old[0].split(",").index("node_id")]
            rows[at] = ",".join(cells)
            table = "\n".join(rows)
    assert message in refusal(tmp_path, table, LONG, capsys)


@pytest.mark.parametrize("left_out", ["nothing", "node_id", "coordinates_mm"])
def test_load_cases_in_other_orders_of_nodes_are_brought_together(tmp_path: Path, left_out: str) -> None:
    """By the node's number, else by its coordinates, else by its place in the order."""
    table_map = LONG if left_out == "nothing" else LONG.replace('node_id = "node_id"\n', "")
    if left_out == "coordinates_mm":
        table_map = table_map.replace('coordinates_mm = { x = "x", y = "y", z = "z" }\n', "")
    header, *rows = BRACKET.splitlines()
    mixed = [rows[i] for i in np.random.default_rng(5).permutation(len(rows))]
    plain, again = made(tmp_path, BRACKET, table_map), made(tmp_path, "\n".join([header, *mixed]), table_map)
    names = {line["name"]: line for line in again["lines"]}
    for line in plain["lines"]:
        for part in ("position_mm", "tangent", "cases"):
            assert names[line["name"]][part] == line[part]


def test_a_node_listed_twice_in_a_case_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    twice = next(row for row in BRACKET.splitlines() if row.startswith("R1P_root,"))
    assert "list a node once" in refusal(tmp_path, BRACKET + "\n" + twice, LONG, capsys)


# units, and what is told


def test_metres_are_converted_or_doubted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A table in metres taken as millimetres is undecided; with its factor it is the table in millimetres."""
    header, *rows = TABLE.split("\r\n")
    small = "\r\n".join([header, *(scaled(row) for row in rows if row)])
    flat = LOOP_MAP.replace("[0.0, 0.0, 3.0]", "[0.0, 0.0, 0.0]")
    (line,) = answer("check", made(tmp_path, small, flat))["lines"]
    assert line["verdict"] == "undecided"
    told = " ".join(capsys.readouterr().err.split())
    assert "outside: mesh size 3.1 mm, but the stations are 0.00314 mm apart" in told
    plain = made(tmp_path, TABLE, flat)["lines"][0]
    metres = flat.replace('form = "wide"', 'form = "wide"\nlength_factor = 1000.0')
    again = made(tmp_path, small, metres)["lines"][0]
    for name in ("coordinates_mm", "position_mm", "tangent", "bisector"):
        np.testing.assert_allclose(again[name], plain[name], rtol=1e-6, atol=1e-9)


def scaled(row: str) -> str:
    cells = [float(cell.replace(",", ".")) for cell in row.split(";")]
    return ";".join(repr(c / 1e3 if i < 3 else c).replace(".", ",") for i, c in enumerate(cells))


def test_the_summary_tells_what_was_made_assumed_and_left_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    extra = LONG.replace("[[lines]]", '[[lines]]\nmatch = "X*"\nskip = true\n\n[[lines]]', 1)
    reason = extra.replace("exclude_ends_mm = 7.0", 'exclude_ends_mm = 7.0\nexclude_ends_reason = "taper"')
    request = made(tmp_path, BRACKET, reason)
    text = " ".join(capsys.readouterr().err.split())
    stations = sum(len(line["position_mm"]) for line in request["lines"])
    for words in (
        f"12 lines, {stations} stations, load cases: lateral, longitudinal, vertical",
        "R1P_root, R2P_root, R1N_root, R2N_root: open, 83 stations, 0.742 mm apart; root 0 deg",
        "mean over three nodes, 7 mm of its ends not judged",
        "lengths of the table times 1 are mm, stresses times 1 are MPa",
        "order by column 'seq'; open or closed by the coordinates; tangent of the table; bisector of the",
        "skipped: R1P_toe_bracket_e1",
        "rules to skip that match no line: X*",
        "columns not used: kind, run, side, opening_angle_deg, closed, line_end",
    ):
        assert words in text
    assert request["lines"][0]["exclude_ends_reason"] == "taper"
    assert request["lines"][0]["node_id"][0] > 0


def test_the_summary_of_lines_without_places(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    plain = LONG.replace('coordinates_mm = { x = "x", y = "y", z = "z" }\n', "")
    made(tmp_path, BRACKET, plain.replace("average_over = 3", "average_over = 1\nclosed = false"))
    text = " ".join(capsys.readouterr().err.split())
    assert "open or closed as the rule says" in text
    assert "caution: the constants of tet10 were found with the mean over three adjacent corner nodes" in text
    made(tmp_path, BRACKET, plain)
    assert "open unless its tangents lead back to its start" in " ".join(capsys.readouterr().err.split())
