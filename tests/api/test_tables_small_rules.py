"""Tables and histories of a map, by the functions that read them: bounds, defaults and what is said at each."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
import pytest

from fatcore.errors import InputError
from service.base.problems import Problem
from service.lines import histories
from service.lines.histories import Loaded, load_histories
from service.lines.map import RequestMap, TableMap, read_map
from service.lines.request import LineSource, _move_path
from service.lines.rows import read_rows
from service.lines.table import check_request, map_table

Table = list[list[str]]

HEAD = ["X", "Y", "Z", "bx", "by", "bz", "xx", "yy", "zz", "xy", "yz", "zx"]
MAP = """
[table]
form = "wide"
coordinates_mm = { x = "X", y = "Y", z = "Z" }
bisector = { x = "bx", y = "by", z = "bz" }
[table.cases.pull]
xx = "xx"
yy = "yy"
zz = "zz"
xy = "xy"
yz = "yz"
zx = "zx"
[[lines]]
match = "*"
kind = "root"
opening_angle_deg = 0.0
notch_size_mm = 6.0
element = "quad4"
element_size_mm = 1.0
average_over = 1
[request.loading]
kind = "constant"
cycles = 1000.0
factors = { pull = { maximum = 1.0, minimum = 0.0 } }
"""
LONG = (
    MAP.replace('form = "wide"', 'form = "long"\ncase = "case"')
    .replace("[table.cases.pull]", "[table.stress_mpa]")
    .replace('kind = "root"', 'kind = "root"', 1)
)


def row(x: float, stress: float = 10.0) -> list[str]:
    """A node on the x axis whose bisector is y; the six components are 1 to 6 times the stress."""
    return [str(value) for value in (x, 0.0, 0.0, 0.0, 1.0, 0.0, *(part * stress for part in range(1, 7)))]


ROWS = [row(0.0), row(1.0), row(2.0)]


def text(rows: Table, head: list[str] = HEAD) -> str:
    return "\n".join(",".join(each) for each in [head, *rows])


def mapped(rows: Table = ROWS, table_map: str = MAP, head: list[str] = HEAD) -> Any:
    found = read_map(table_map)
    return map_table(read_rows(text(rows, head), found.table), found)


def test_components_keep_their_names_and_factors() -> None:
    (line,) = mapped(
        table_map=MAP.replace('form = "wide"', 'form = "wide"\nstress_factor = 2.0\nlength_factor = 3.0')
    ).request["lines"]
    assert line["cases"]["pull"]["tensors_mpa"] == {
        name: [20.0 * (place + 1)] * 3 for place, name in enumerate(("xx", "yy", "zz", "xy", "yz", "zx"))
    }
    assert line["position_mm"] == [0.0, 3.0, 6.0]
    assert line["coordinates_mm"][2] == [6.0, 0.0, 0.0]
    assert line["name"] == "line"
    assert line["notch"] == {"kind": "root", "opening_angle_deg": 0.0, "notch_size_mm": 6.0}
    assert line["mesh"] == {"element": "quad4", "element_size_mm": 1.0}
    assert (line["closed"], line["average_over"], line["exclude_ends_mm"]) == (False, 1, 0.0)
    assert line["bisector"] == [[0.0, 1.0, 0.0]] * 3
    assert check_request(read_rows(text(ROWS), read_map(MAP).table), read_map(MAP))["loading"]["kind"] == "constant"


def test_only_the_constants_that_are_given_stand_in_the_request() -> None:
    given = MAP.replace("average_over = 1", "average_over = 1\nconstants = { opening = 1.4 }")
    (line,) = mapped(table_map=given).request["lines"]
    assert line["mesh"] == {"element": "quad4", "element_size_mm": 1.0, "constants": {"opening": 1.4}}


@pytest.mark.parametrize(
    ("factor", "stress", "told"),
    [(0.999, 0.16, True), (1.0, 0.16, False), (0.5, 1.0 / 3.0, False), (0.5, 0.333, True), (0.5, -0.5, False)],
)
def test_a_factor_below_one_that_makes_small_stresses_is_doubtful(factor: float, stress: float, told: bool) -> None:
    """The largest of the six components is six times the stress; from 1 MPa on it is of a usual unit load."""
    table_map = MAP.replace('form = "wide"', f'form = "wide"\nstress_factor = {factor}')
    doubts = mapped([row(x, stress) for x in (0.0, 1.0, 2.0)], table_map).doubts
    small = [words for name, words in doubts if "stresses-small" in words and name == "line"]
    assert len(small) == told
    if told:
        assert f"the stress_factor {factor:g} makes the largest stress {6.0 * stress * factor:.3g} MPa" in small[0]


def test_a_mean_over_three_nodes_is_used_only_where_it_is_asked() -> None:
    assert TableMap.model_validate({"table": {"form": "wide"}, "lines": [{"match": "*"}]}).model_dump(
        include={"table": {"decimal", "delimiter", "stress_factor", "length_factor"}}
    ) == {"table": {"decimal": ".", "delimiter": ",", "stress_factor": 1.0, "length_factor": 1.0}}


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (('case = "case"\n', ""), "a long table needs"),
        (('form = "long"', 'form = "wide"'), "a wide table needs"),
        (
            ("bisector =", 'plate_normal = { x = "bx", y = "by", z = "bz" }\nbisector ='),
            "not used: the table has the bisector",
        ),
    ],
)
def test_a_layout_says_all_that_its_form_needs_and_nothing_else(change: tuple[str, str], message: str) -> None:
    head = ["case", *HEAD]
    rows = [["pull", *each] for each in ROWS]
    assert mapped(rows, LONG, head).request["lines"][0]["cases"].keys() == {"pull"}
    with pytest.raises(InputError, match=message):
        mapped(rows, LONG.replace(*change), head)


def test_without_coordinates_order_and_tangent_are_both_needed() -> None:
    head = ["n", "s", "tx", "ty", "tz", *HEAD]
    rows = [[str(place), str(2.0 * place), "1", "0", "0", *each] for place, each in enumerate(ROWS)]
    bare = MAP.replace('coordinates_mm = { x = "X", y = "Y", z = "Z" }\n', 'position_mm = "s"\nORDERTANGENT')
    order, tangent = 'order = "n"\n', 'tangent = { x = "tx", y = "ty", z = "tz" }\n'
    (line,) = mapped(rows, bare.replace("ORDERTANGENT", order + tangent), head).request["lines"]
    assert line["position_mm"] == [0.0, 2.0, 4.0]
    assert "coordinates_mm" not in line
    for given in (order, tangent):
        with pytest.raises((InputError, Problem), match="needs `order` and `tangent`"):
            mapped(rows, bare.replace("ORDERTANGENT", given), head)
    with pytest.raises((InputError, Problem), match="gives two nodes the same location"):
        mapped([*rows[:2], ["1", *rows[2][1:]]], bare.replace("ORDERTANGENT", order + tangent), head)


def test_nodes_of_two_load_cases_are_matched_by_their_coordinates() -> None:
    head = ["case", *HEAD]
    pull, side = ([[name, *each] for each in ROWS] for name in ("pull", "side"))
    (line,) = mapped([*pull, *reversed(side)], LONG, head).request["lines"]
    assert list(line["cases"]) == ["pull", "side"]
    with pytest.raises((InputError, Problem), match="'side' lists a node twice"):
        mapped([*pull, *side, side[0]], LONG, head)
    with pytest.raises((InputError, Problem), match="lists other nodes"):
        mapped([*pull, *side[:2]], LONG, head)
    other = [*side[0][:5], "0.5", *side[0][6:]]
    with pytest.raises((InputError, Problem), match="'side' differs from the first in column 'by'"):
        mapped([*pull, other, *side[1:]], LONG, head)


@pytest.mark.parametrize(("lines", "dots"), [(12, False), (13, True)])
def test_a_rule_that_judges_nothing_names_twelve_lines(lines: int, dots: bool) -> None:
    table_map = MAP.replace('form = "wide"', 'form = "wide"\nline = "name"')
    table_map += '\n[[lines]]\nmatch = "weld*"\n' + MAP[MAP.index("kind =") : MAP.index("[request")]
    rows = [[f"seam {place:02d}", *each] for place in range(lines) for each in ROWS]
    with pytest.raises(Problem) as refused:
        mapped(rows, table_map, ["name", *HEAD])
    ((where, message),) = refused.value.errors
    assert (refused.value.status, where) == (422, "/lines/1/match")
    assert message.endswith("seam 11 ..." if dots else "seam 11")


def test_lines_that_are_skipped_rules_that_skip_none_and_columns_of_no_use_are_listed() -> None:
    table_map = MAP.replace('form = "wide"', 'form = "wide"\nline = "name"')
    rules = '[[lines]]\nmatch = "spare*"\nskip = true\n[[lines]]\nmatch = "none*"\nskip = true\n[[lines]]'
    rows = [[name, *each, "9", ""] for name in ("seam", "spare 1") for each in ROWS]
    made = mapped(rows, table_map.replace("[[lines]]", rules, 1), ["name", *HEAD, "more", ""])
    assert made.skipped == ("spare 1",)
    assert made.idle == ("none*",)
    assert made.unused == ("more",)
    assert [line["name"] for line in made.request["lines"]] == ["seam"]


def test_a_column_cannot_stand_for_two_components_of_one_vector() -> None:
    with pytest.raises(Problem) as refused:
        read_map(MAP.replace('y = "by", z = "bz"', 'y = "by", z = "by"'))
    assert list(refused.value.errors) == [("/table/bisector", "one column stands for two components")]


@pytest.mark.parametrize(
    ("given", "refused"),
    [
        ({}, []),
        ({"plate_normal": [0.0, 0.0, 1.0], "weld_towards_mm": [1.0, 2.0, 3.0]}, []),
        ({"weld_direction": [0.0, 0.0, 1.0], "weld_towards_mm": [1.0, 2.0, 3.0]}, ["/lines/0/weld_direction"]),
        (
            {
                "plate_normal": [0.0, 0.0, 1.0],
                "plate_normal_from": {"point_mm": [0.0, 0.0, 0.0], "sense": "outward"},
            },
            ["/lines/0/plate_normal"],
        ),
    ],
)
@pytest.mark.parametrize("bisector", [False, True])
def test_of_normals_and_sides_one_is_given_and_none_beside_a_bisector(
    given: dict[str, Any], refused: list[str], bisector: bool
) -> None:
    words = "\n".join(f"{name} = {_toml(value)}" for name, value in given.items())
    table_map = MAP.replace("average_over = 1", f"average_over = 1\n{words}")
    if not bisector:
        table_map = table_map.replace('bisector = { x = "bx", y = "by", z = "bz" }\n', "")
    expected = [f"/lines/0/{name}" for name in given] if bisector else refused
    if not expected:
        assert read_map(table_map).lines[0].match == "*"
        return
    with pytest.raises(Problem) as problem:
        read_map(table_map)
    found = [where for where, _ in problem.value.errors]
    assert set(found) <= set(expected)
    assert found
    assert ("only" in problem.value.errors[0][1]) == (not bisector)


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_toml(each)}" for key, each in value.items()) + " }"
    return f'"{value}"' if isinstance(value, str) else str(value)


# --- rows


def rows_of(content: str, **layout: Any) -> list[Any]:
    given = {"form": "wide", "order": "n", "line": "name", **layout}
    return read_rows(content, TableMap.model_validate({"table": given, "lines": [{"match": "*"}]}).table)


def test_blank_rows_may_stand_between_lines_only() -> None:
    assert len(rows_of("name,n\na,1\na,2\n,\n,\nb,1\n")) == 3
    with pytest.raises(InputError, match="row 2 under the header is blank"):
        rows_of("name,n\na,1\n,\na,2\n")
    # of one line and another load case: no station is missing
    assert len(rows_of("name,n,case\na,1,x\n\na,1,y\n", case="case")) == 2
    assert len(rows_of("\n\nname,n\na,1\n")) == 1


@pytest.mark.parametrize(
    ("header", "what"),
    [
        ("X,Y", "no column 'Z'; it has 1 X, 2 Y"),
        ("X,Y,z", "no column 'Z' (did you mean 'z'?); it has 1 X, 2 Y, 3 z"),
        ("X,Y,Z1", "no column 'Z' (did you mean 'Z1'?); it has 1 X, 2 Y, 3 Z1"),
        (
            "X;Y;Z",
            "no column 'X': its first line is one name with ',' between columns, as delimiter has it, and holds ';'",
        ),
        ("X,Y,Z,Z", "more than one column 'Z'"),
    ],
)
def test_a_column_that_is_not_there_once_is_an_error_of_the_table(header: str, what: str) -> None:
    layout = TableMap.model_validate(
        {
            "table": {"form": "wide", "coordinates_mm": {"x": "X", "y": "Y", "z": "Z"}},
            "lines": [{"match": "*", "skip": True}],
        }
    ).table
    with pytest.raises(InputError) as refused:
        read_rows(f"{header}\n1,2,3,4\n", layout)
    assert str(refused.value) == f"the table has {what}"
    assert refused.value.path == ("table", "coordinates_mm", "x" if "'X'" in what else "z")


def test_a_problem_of_the_request_keeps_its_status_and_words_in_the_map() -> None:
    problem = Problem(422, "two parts", [("/lines/0/mesh/element", "odd"), ("/target", "odd too")])
    moved = _move_path(problem, [LineSource(name="weld", rule=3)])
    assert (moved.status, moved.detail) == (422, "two parts")
    assert list(moved.errors) == [("/lines/3/element", "line 'weld': odd"), ("/request/target", "odd too")]


@pytest.mark.parametrize(
    ("cells", "taken"), [("a,1", True), ("a,1,,", True), ("a", False), ("a,1,,x", False), ("a,1,x,", False)]
)
def test_cells_beyond_the_header_are_empty(cells: str, taken: bool) -> None:
    if taken:
        assert rows_of(f"name,n\n{cells}\n") == [{"name": "a", "n": "1"}]
        return
    with pytest.raises(InputError, match=f"row 1 under the header has {cells.count(',') + 1} cells where 2"):
        rows_of(f"name,n\n{cells}\n")


@pytest.mark.parametrize(
    ("cell", "decimal", "taken"),
    [
        ("1.5", ".", True),
        ("1,5", ",", True),
        ("1.5", ",", False),
        ("1_5", ".", False),
        ("inf", ".", False),
        ("15", ",", True),
    ],
)
def test_numbers_are_read_by_their_decimal_sign(cell: str, decimal: str, taken: bool) -> None:
    table_map = MAP.replace('form = "wide"', f'form = "wide"\ndelimiter = ";"\ndecimal = "{decimal}"')
    rows = [[each.replace(".", decimal) for each in one] for one in ROWS]
    rows[1][6] = cell
    found = read_map(table_map)
    content = "\n".join(";".join(each) for each in [HEAD, *rows])
    if taken:
        (line,) = check_request(read_rows(content, found.table), found)["lines"]
        assert line["cases"]["pull"]["tensors_mpa"]["xx"][1] == float(cell.replace(",", "."))
        return
    with pytest.raises((InputError, Problem), match="where a number was expected"):
        map_table(read_rows(content, found.table), found)


@pytest.mark.parametrize(
    ("cell", "taken"), [("7", True), (" 8 ", True), ("7.0", False), ("-7", False), ("", False), ("²", False)]
)
def test_numbers_of_nodes_are_whole(cell: str, taken: bool) -> None:
    rows = [[number, *each] for number, each in zip(("1", cell, "3"), ROWS, strict=True)]
    table_map = MAP.replace('form = "wide"', 'form = "wide"\nnode_id = "node"')
    if taken:
        assert mapped(rows, table_map, ["node", *HEAD]).request["lines"][0]["node_id"] == [1, int(cell), 3]
        return
    with pytest.raises((InputError, Problem), match="where a whole number was expected"):
        mapped(rows, table_map, ["node", *HEAD])


# --- histories


def array(*columns: list[float]) -> bytes:
    out = io.BytesIO()
    np.save(out, np.array(columns, dtype=float))
    return out.getvalue()


FILES = {
    "a.npy": array([0.0, 1.0, 2.0], [0.0, -1.0, 4.0]),
    "b.npy": array([5.0, 6.0, 4.0], [7.0, 8.0, 3.0]),
    "two.npy": array([1.0, 2.0]),
    "one.npy": array([1.0]),
    "a.csv": b"t,F\n0,1\n1,3\n2,2\n",
    "A.TXT": b"t,F\n0,1\n1,3\n",
}


def read(name: str) -> bytes:
    try:
        return FILES[name]
    except KeyError as error:
        raise FileNotFoundError(2, "No such file", name) from error


def loaded(loading: dict[str, Any] | None, read_file: Any = read) -> Loaded[RequestMap]:
    request = {} if loading is None else {"loading": loading}
    return load_histories(RequestMap(request=request), read_file)


def block(file: str, **more: Any) -> dict[str, Any]:
    return {"file": file, "columns": {"pull": 1}, **more}


def loading_of(*given: dict[str, Any], **more: Any) -> Any:
    found = loaded({"kind": "history", "history": list(given) if len(given) > 1 else given[0], **more})
    return found.map.request["loading"]


def refused(*given: dict[str, Any], **more: Any) -> Problem:
    with pytest.raises(Problem) as problem:
        loading_of(*given, **more)
    return problem.value


def test_a_map_without_histories_is_left_as_it_is() -> None:
    for loading in (None, {"kind": "constant"}, {"kind": "history", "channels": {}}):
        found = loaded(loading)
        assert found.map.request == ({} if loading is None else {"loading": loading})
        assert (found.words, found.cases) == ((), None)
    assert load_histories(RequestMap(request={"loading": "history"}), read).cases is None


def test_problems_of_a_history_are_of_the_request() -> None:
    problem = refused(block("a.npy"), kind="blocks")
    assert (problem.status, problem.errors[0][0]) == (422, "/request/loading/kind")
    problem = refused(block("none.npy"))
    assert (problem.status, problem.detail) == (422, "none.npy: No such file")
    assert problem.errors[0][0] == "/request/loading/history/file"
    problem = refused(block("a.npy", colour=1))
    assert (problem.status, [where for where, _ in problem.errors]) == (422, ["/request/loading/history/colour"])
    for name in ("channels", "stretches"):
        problem = refused(block("a.npy"), **{name: []})
        assert [where for where, _ in problem.errors] == [f"/request/loading/{name}"]
    problem = refused(block("a.npy"), not_loaded=["side", "pull"])
    assert [where for where, _ in problem.errors] == ["/request/loading/not_loaded/1"]
    problem = refused(block("a.npy"), not_loaded=["side", ""])
    assert [where for where, _ in problem.errors] == ["/request/loading/not_loaded/1"]


def test_an_error_without_words_is_told_by_itself() -> None:
    def broken(name: str) -> bytes:
        raise OSError(name)

    with pytest.raises(Problem, match=r"a\.npy: a\.npy"):
        loaded({"kind": "history", "history": block("a.npy")}, broken)


def test_a_file_is_read_by_its_ending() -> None:
    assert loading_of(block("a.npy"))["channels"] == {"pull": [0.0, 1.0, 2.0]}
    assert loading_of(block("a.csv", columns={"pull": "F"}))["channels"] == {"pull": [1.0, 3.0, 2.0]}
    assert loading_of(block("A.TXT", columns={"pull": 2}, factors={"pull": 2.0}))["channels"] == {"pull": [2.0, 6.0]}


def test_two_samples_are_a_history_and_one_is_none() -> None:
    assert loading_of(block("two.npy"))["channels"] == {"pull": [1.0, 2.0]}
    assert "one.npy holds one sample" in refused(block("one.npy")).detail


def test_passes_of_one_stretch_and_of_several() -> None:
    single = loading_of(block("two.npy", repeats=3), repeats=2)
    assert (single["repeats"], single["channels"]["pull"]) == (6.0, [1.0, 2.0])
    assert single["stretches"] == [{"samples": 2, "repeats": 1, "file": "two.npy"}]
    assert loading_of(block("two.npy"))["repeats"] == 1.0
    several = loading_of(block("two.npy", repeats=2), block("b.npy"), repeats=2.0)
    assert (several["repeats"], several["channels"]["pull"]) == (2.0, [1.0, 2.0, 1.0, 2.0, 5.0, 6.0, 4.0])
    assert [each["repeats"] for each in several["stretches"]] == [2, 1]
    for odd in (True, "two", None):
        assert loading_of(block("two.npy", repeats=3), repeats=odd)["repeats"] is odd


@pytest.mark.parametrize(
    ("values", "samples", "taken"), [(18, 100, True), (17, 100, False), (100, 9, True), (100, 8, False)]
)
def test_samples_and_values_are_bounded(
    monkeypatch: pytest.MonkeyPatch, values: int, samples: int, taken: bool
) -> None:
    """Three samples twice and three once, of two load cases: nine samples, eighteen values."""
    monkeypatch.setattr(histories, "MAX_VALUES", values)
    monkeypatch.setattr(histories, "MAX_SAMPLES", samples)
    both = block("b.npy", columns={"pull": 1, "side": 2})
    if taken:
        assert len(loading_of({**both, "repeats": 2}, both)["channels"]["side"]) == 9
        return
    problem = refused({**both, "repeats": 2}, both)
    assert (problem.status, problem.errors[0][0]) == (413, "/request/loading/history")
    assert "make 9 samples or more of 2 load cases" in problem.detail
    assert f"a request takes {samples} samples and {values} values" in problem.detail


def test_passes_of_a_single_stretch_are_not_written_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(histories, "MAX_SAMPLES", 2)
    assert loading_of(block("two.npy", repeats=10))["repeats"] == 10.0


def test_what_was_read_is_said_of_each_stretch() -> None:
    given = {
        "kind": "history",
        "history": [block("two.npy", repeats=2, sample_rate_hz=4.0, name="road"), block("b.npy", repeats=1)],
    }
    assert loaded(given).words == (
        "road: 2 samples, 0.5 s at 4 Hz, 2 times from two.npy (pull = 1)",
        "3 samples from b.npy (pull = 1)",
    )


def test_the_end_of_a_long_path_is_kept() -> None:
    name = "folder/" * 20 + "a.npy"
    found = loaded({"kind": "history", "history": block(name)}, lambda _: FILES["a.npy"])
    file = found.map.request["loading"]["stretches"][0]["file"]
    assert file == name[-100:]
    assert len(file) == 100


def test_cases_of_the_lines_are_loaded_or_said_not_to_be() -> None:
    lines = [{"cases": {"pull": 1, "side": 2}}, {"cases": {"rest": 3}}]
    found = loaded({"kind": "history", "history": block("a.npy"), "not_loaded": ["side"]})
    assert found.cases == {"pull", "side"}
    with pytest.raises(Problem, match="no history loads rest: give it"):
        found.guard_cases(lines)
    found.guard_cases(lines[:1])
    loaded(None).guard_cases(lines)


def test_a_case_has_one_column_in_a_file_and_in_those_beside() -> None:
    twice = refused(block("a.npy", columns={"pull": 1, "side": 1}))
    assert twice.errors[0][0] == "/request/loading/history/columns/side"
    beside = refused(block("b.npy", beside=[block("b.npy")]))
    assert beside.errors[0][0] == "/request/loading/history/beside/0/columns/pull"
    longer = refused(block("b.npy", beside=[block("two.npy", columns={"side": 1})]))
    assert "two.npy has 2 samples, b.npy has 3" in longer.detail
    found = loading_of(block("b.npy", beside=[block("a.npy", columns={"side": 2})]))
    assert found["channels"] == {"pull": [5.0, 6.0, 4.0], "side": [0.0, -1.0, 4.0]}
    assert found["stretches"][0]["file"] == "b.npy, a.npy"


def test_a_factor_is_of_a_column_and_not_nothing() -> None:
    assert loading_of(block("two.npy", factors={"pull": 0.01}))["channels"] == {"pull": [0.01, 0.02]}
    nothing = refused(block("two.npy", factors={"pull": 0.0}))
    assert nothing.errors[0][0] == "/request/loading/history/factors/pull"
    spare = refused(block("two.npy", factors={"side": 2.0}))
    assert spare.errors[0][0] == "/request/loading/history/factors/side"


def test_cases_stand_in_the_order_of_the_first_stretch() -> None:
    first, second = (
        {name: place for place, name in enumerate(names, 1)} for names in (("pull", "side"), ("side", "pull"))
    )
    found = loading_of(block("a.npy", columns=first), block("b.npy", columns=second))
    assert list(found["channels"]) == ["pull", "side"]
    assert found["channels"]["side"] == [0.0, -1.0, 4.0, 5.0, 6.0, 4.0]


def test_elements_round_a_node_stand_in_the_request_where_they_are_given() -> None:
    given = MAP.replace("element_size_mm = 1.0", "element_size_mm = 1.0\nelements_around = 4")
    assert mapped(table_map=given).request["lines"][0]["mesh"]["elements_around"] == 4
    assert "elements_around" not in mapped().request["lines"][0]["mesh"]


@pytest.mark.parametrize(("stress", "told"), [(10.0, True), (0.0, False)])
def test_load_cases_that_take_the_same_columns_are_doubtful(stress: float, told: bool) -> None:
    """Where there is no stress, none tells them apart."""
    columns = MAP[MAP.index("[table.cases.pull]") : MAP.index("[[lines]]")]
    again = MAP.replace("[[lines]]", columns.replace("pull", "side") + "[[lines]]")
    doubts = mapped([row(x, stress) for x in (0.0, 1.0, 2.0)], again).doubts
    alike = ("line", "caution: load cases pull, side have the same stresses [load-cases-alike]")
    assert (alike in doubts) is told
