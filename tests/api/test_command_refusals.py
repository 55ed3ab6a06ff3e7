"""What a person types or writes down wrong is said in that person's words, once, at the file, option or key."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from service import cli

EXAMPLES = Path("openapi_examples").absolute()
STIFFENER = EXAMPLES / "data" / "stiffener" / "stiffener-hex8.vtu"
Run = Callable[..., tuple[int, str]]


def request_of(name: str) -> Any:
    return json.loads((EXAMPLES / f"{name}.json").read_text(encoding="utf-8"))["request"]


CHECK, HANGER = request_of("check/one-toe-constant"), request_of("check/bracket-hanger")
HISTORY = request_of("check/root-history")
MAP = """[table]
form = "long"
line = "line"
case = "case"
order = "n"
coordinates_mm = { x = "x", y = "y", z = "z" }
stress_mpa = { xx = "sxx", yy = "syy", zz = "szz", xy = "sxy", yz = "syz", zx = "szx" }

[[lines]]
match = "toe"
kind = "toe"
opening_angle_deg = 135.0
notch_size_mm = 5.0
element = "own"
element_size_mm = 1.0
average_over = 1
plate_normal = [0.0, 0.0, 1.0]
weld_direction = [0.0, 1.0, 0.0]

[request.loading]
kind = "constant"
cycles = 1e6
factors = { pull = { maximum = 1.0, minimum = 0.0 } }
"""
MESH_MAP = """[mesh]
length_factor = 1.0
stress_factor = 1.0
symmetry = ["q"]
cases = {a = "b"}

[[lines]]
match = "*"
skip = true
"""
NO_VTU, NO_JSON = "a.vtu: not a VTU file that can be read", "a.json is not JSON"
TABLE = "line,case,n,x,y,z,sxx,syy,szz,sxy,syz,szx\ntoe,pull,1,0,0,0,9,0,0,0,0,0\ntoe,pull,2,5,0,0,9,0,0,0,0,0\n"


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    monkeypatch.chdir(tmp_path)
    Path("folder").mkdir()

    def called(words: str, **files: Any) -> tuple[int, str]:
        for name, content in files.items():
            path = Path(name.replace("_", "."))
            if isinstance(content, bytes):
                path.write_bytes(content)
            else:
                path.write_text(content if isinstance(content, str) else json.dumps(content), encoding="utf-8")
        try:
            code = cli.main(words.split())
        except SystemExit as stop:
            code = int(str(stop.code))
        return code, capsys.readouterr().err.removeprefix("toeline: ").removesuffix("\n")

    return called


# what the command line itself cannot take

TYPED = {
    "chek f": "COMMAND takes one of demo, lines, count, curves, damage, check, grow, fit-sn, fit-growth, report, "
    "picture, gate, batch, compare, verify, calculate, serve, key, findings, validate, not 'chek' (did you mean "
    "'check'?)",
    "validate --jsn": "--jsn is no option of toeline validate (did you mean '--json'?)",
    "validate --colour=red": "--colour is no option of toeline validate",
    "check f g": "'g' is one argument too many",
    "check f --output": "-o/--output needs a value",
    "gate f --limit high": "--limit takes a number, not 'high'",
    "gate f --jobs 1.5": "--jobs takes a whole number, not '1.5'",
    "count f --rule rain": "--rule takes one of rainflow, four-point, range-pair, simple-range, not 'rain' "
    "(did you mean 'rainflow'?)",
    "count f --residue open": "--residue takes one of half, closed, not 'open'",
    "damage f --weights a": "--weights: give each column once, like bending=1.0,tension=0.8",
    "check": "the following arguments are required: file",
}


@pytest.mark.parametrize("words", TYPED)
def test_a_command_line_that_cannot_be_read_says_what_is_taken(run: Run, words: str) -> None:
    code, said = run(words)
    first, second = said.splitlines()
    assert (code, first) == (2, TYPED[words])
    name = "" if words.startswith("chek") else f" {words.split()[0]}"
    assert second == f"see: toeline{name} --help"


# files

FILES: dict[str, tuple[str, dict[str, Any], str]] = {
    "missing": (
        "check brcket.json",
        {"bracket_json": CHECK},
        "brcket.json: No such file or directory (did you mean 'bracket.json'?)",
    ),
    "missing, nothing like it": ("check a.json", {"zzz_csv": ""}, "a.json: No such file or directory"),
    "missing folder": ("check away/a.json", {}, "away/a.json: No such file or directory"),
    "directory": ("check folder", {}, "folder: Is a directory"),
    "empty": ("check a.json", {"a_json": ""}, "a.json is not JSON: it is empty"),
    "empty table": ("count a.csv", {"a_csv": ""}, "a.csv: the table is empty"),
    "table of numbers alone": (
        "count a.csv",
        {"a_csv": "0\n1\n"},
        "a.csv: a column is named by a number: the first line, or the array, must name every column",
    ),
    "column without a name": (
        "count a.csv --column b",
        {"a_csv": "b,\n1,2\n"},
        "a.csv: a column has no name: the first line, or the array, must name every column",
    ),
    "name twice": ("count a.csv --column b", {"a_csv": "b,b\n1,2\n"}, "a.csv: more than one column is named 'b'"),
    "binary": ("check a.json", {"a_json": b"{\xff}"}, "a.json is not UTF-8 text (byte 1): save it as UTF-8"),
    "binary table": ("count a.csv", {"a_csv": b"s\n\xff"}, "a.csv: the table is not UTF-8 text (byte 2)"),
    "syntax": (
        "check a.json",
        {"a_json": '{"lines": [1,]}'},
        "a.json is not JSON: line 1, column 13: there is a comma too many",
    ),
    "syntax of a part": (
        "count a.csv --request b.json",
        {"a_csv": "s\n1\n", "b_json": "{'a': 1}"},
        "b.json is not JSON: line 1, column 2: texts and names stand in double quotes",
    ),
    "toml part": (
        "count a.csv --request b.toml",
        {"a_csv": "s\n1\n", "b_toml": "a = x"},
        "b.toml is not TOML: line 1 (a = x): a value is expected: texts stand in quotes, numbers have a point",
    ),
    "nested": ("check a.json", {"a_json": "[" * 100_000}, "a.json is nested too deeply"),
    "key twice": (
        "check a.json",
        {"a_json": '{"lines": [], "lines": []}'},
        "/lines: this key occurs more than once in one object",
    ),
    "other calculation": (
        "grow a.json",
        {"a_json": CHECK},
        "the keys are those of a request of check, not of cracks/growth",
    ),
    "example of another": (
        "grow a.json",
        {"a_json": {"calculation": "check", "request": CHECK}},
        "a.json is an example of check, not of cracks/growth",
    ),
    "no calculation": ("calculate chek a.json", {"a_json": CHECK}, "unknown calculation 'chek'; nearest of "),
    "calculation of GET": (
        "calculate curves a.json",
        {"a_json": CHECK},
        "curves takes no file: the service answers it to GET",
    ),
    "empty batch": ("batch a.ndjson", {"a_ndjson": "\n \n"}, "a.ndjson holds no calculation"),
    "no baseline": (
        "gate a.json --baseline b.json",
        {"a_json": CHECK, "b_json": CHECK},
        "b.json is no baseline of a gate: --write-baseline makes one",
    ),
    "baseline syntax": (
        "gate a.json --baseline b.json",
        {"a_json": CHECK, "b_json": ""},
        "b.json is not JSON: it is empty",
    ),
}


@pytest.mark.parametrize("case", FILES)
def test_a_file_that_cannot_be_used_is_named_with_the_reason(run: Run, case: str) -> None:
    words, files, message = FILES[case]
    code, said = run(words, **files)
    assert code == 2
    assert said.splitlines()[0].startswith(message)
    assert said.count(message) == 1


def test_a_name_of_a_curve_or_finding_brings_those_like_it(run: Run) -> None:
    assert run("curves fat71")[1].startswith("unknown curve 'fat71'; nearest of ")
    assert "iiw-2016-normal-steel-71" in run("curves fat71")[1]
    assert run("curves iiw-2016-normal-71")[1].split(": ")[1].startswith("iiw-2016-normal-steel-71, ")
    assert run("findings mesh-to-coarse")[1].split(": ")[1].startswith("mesh-too-coarse, ")


def test_filters_that_leave_no_curve_say_what_there_is(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["curves", "--material", "stel", "--kind", "shear"]) == 0
    first, last = capsys.readouterr().out.splitlines()
    assert first.startswith("no material has 'stel'; there are: aluminium, ")
    assert last.startswith("0 of ")
    assert cli.main(["curves", "--title", "no such words"]) == 0  # too many to be listed
    assert len(capsys.readouterr().out.splitlines()) == 1


# keys of a request, at their full depth

Change = Callable[[dict[str, Any]], Any]
KEYS: dict[str, tuple[Any, Change, str]] = {
    "load case of a block": (
        HANGER,
        lambda r: r["loading"]["blocks"][1]["factors"].update(vertcal={"maximum": 1.0, "minimum": 0.0}),
        "/loading/blocks/1/factors/vertcal: no line has the load case 'vertcal' (did you mean 'vertical'?)",
    ),
    "load case of a constant loading": (
        CHECK,
        lambda r: r["loading"]["factors"].update(push={"maximum": 1.0, "minimum": 0.0}),
        "/loading/factors/push: no line has the load case 'push'",
    ),
    "load case of a history": (
        HISTORY,
        lambda r: r["loading"].update(channels={"pul": [0.0, 1.0]}),
        "/loading/channels/pul: no line has the load case 'pul' (did you mean 'pull'?)",
    ),
    "load case described": (
        HANGER,
        lambda r: r["load_cases"].update(lateal="x"),
        "/load_cases/lateal: no line has the load case 'lateal' (did you mean 'lateral'?)",
    ),
    "load case that one line lacks": (
        HANGER,
        lambda r: r["lines"][2]["cases"].pop("lateral"),
        "/lines/2/cases: line 'R1N_root' has no load case 'lateral', which is loaded",
    ),
    "entry of numbers": (
        HANGER,
        lambda r: r["lines"][3]["position_mm"].__setitem__(2, "a"),
        "/lines/3/position_mm/2: an entry of position_mm must be a number",
    ),
    "entry of lines": (
        CHECK,
        lambda r: r["lines"].append(5),
        "/lines/1: an entry of lines must be an object with named values",
    ),
    "number of very many digits": (
        CHECK,
        lambda r: r["lines"][0]["notch"].update(notch_size_mm=10**400),
        "/lines/0/notch/notch_size_mm: notch_size_mm must be a number from -1e30 to 1e30",
    ),
    "kind that is missing": (
        CHECK,
        lambda r: r.update(curves={}),
        "/curves/rule: rule is needed: one of biaxiality, fixed",
    ),
    "material": (
        CHECK,
        lambda r: r.update(material={"name": "steel"}),
        "/material/name: unknown material 'steel' (did you mean 'austenitic-steel'?); known: aluminium-alloy, "
        "austenitic-steel, structural-steel",
    ),
}


@pytest.mark.parametrize("case", KEYS)
def test_a_key_is_named_at_its_full_depth(run: Run, case: str) -> None:
    request, change, message = KEYS[case]
    request = copy.deepcopy(request)
    change(request)
    code, said = run("check a.json", a_json=request)
    assert code == 2
    assert said.startswith(message)
    assert len(said.splitlines()) == 1


def test_names_that_are_allowed_at_a_place_are_listed_once(run: Run) -> None:
    said = run("check a.json", a_json={**CHECK, "foo": 1, "targt": {}})[1].splitlines()
    assert said[0] == "2 inputs are refused"
    assert said[1].startswith("  /foo: unknown key. Allowed: coefficients, condition, ")
    assert said[2] == "  /targt: unknown key, did you mean 'target'?"


# maps, tables, meshes

MAPS: dict[str, tuple[str, str, str]] = {
    "syntax": ('form = "long"', "form = long", "map.toml is not TOML: line 2 (form = long): a value is expected"),
    "choice": ('"long"', '"longg"', "map.toml: /table/form: form must be one of long, wide (did you mean 'long'?)"),
    "key": (
        "notch_size_mm",
        "notch_siz_mm",
        "map.toml: /lines/0/notch_siz_mm: unknown key, did you mean 'notch_size_mm'?",
    ),
    "number": ("135.0", '"135"', "map.toml: /lines/0/opening_angle_deg: opening_angle_deg must be a number"),
    "part left out": ('kind = "toe"\n', "", "map.toml: /lines/0/kind: needed: it has no default (or skip = true)"),
    "column": ('"case"\n', '"load"\n', "map.toml: /table/case: the table has no column 'load'; it has 1 line, 2 case,"),
    "near column": ('"sxx"', '"xx"', "map.toml: /table/stress_mpa/xx: the table has no column 'xx' (did you mean"),
    "map of a mesh": (
        "[table]",
        "[mesh]",
        "map.toml is the map of a mesh ([mesh]); the file is a table, whose map has [table]",
    ),
}


@pytest.mark.parametrize("case", MAPS)
def test_a_map_is_named_with_the_place_in_it(run: Run, case: str) -> None:
    old, new, message = MAPS[case]
    code, said = run("lines t.csv --map map.toml -o out.json", map_toml=MAP.replace(old, new, 1), t_csv=TABLE)
    assert (code, said[: len(message)]) == (2, message)


@pytest.mark.parametrize(
    ("table", "message"),
    [
        ("", "t.csv: the table is empty"),
        (TABLE.replace(",9,", ",abc,", 1), "t.csv: line 'toe': column 'sxx' holds 'abc' where a number was expected"),
        (TABLE.split("\n")[0], "t.csv: the table has no rows"),
        (TABLE.replace(",", ";"), "map.toml: /table/line: the table has no column 'line': its first line is one name"),
        (b"\xff\xfe\xff", "t.csv is not UTF-8 text"),
    ],
)
def test_a_table_is_named_where_it_is_the_table_that_is_wrong(run: Run, table: str | bytes, message: str) -> None:
    code, said = run("lines t.csv --map map.toml -o out.json", map_toml=MAP, t_csv=table)
    assert (code, said[: len(message)]) == (2, message)


@pytest.mark.parametrize(
    ("words", "files", "message"),
    [
        ("lines a.vtu --list", {"a_vtu": "x"}, f"{NO_VTU}: it is no XML from line 1, column 1 on"),
        ("lines a.xdmf --list", {"a_xdmf": "x"}, "a.xdmf: not an XDMF file that can be read: it is no XML from"),
        ("lines a.med --list", {"a_med": "x"}, "a.med: not a MED file that can be read: it is none, it is cut off, or"),
        ("lines a.stl --list", {"a_stl": "x"}, "--list needs a mesh (.vtu, .vtk, .msh, "),
        (f"lines {STIFFENER} --map map.toml", {"map_toml": MAP}, "map.toml is the map of a table: it has no [mesh]"),
        (f"lines {STIFFENER} --list --symmetry q=1", {}, '--symmetry takes planes like "y=0", three at the most'),
        ("report a.json --mesh a.vtu", {"a_json": CHECK, "a_vtu": ""}, f"{NO_VTU}: it is empty"),
        (
            f"lines {STIFFENER} --map map.toml",
            {"map_toml": MESH_MAP},
            'map.toml: /mesh/symmetry/0: an entry of symmetry must be a plane like "y=0"',
        ),
    ],
)  # fmt: skip
def test_a_mesh_is_named_with_the_reason(run: Run, words: str, files: dict[str, Any], message: str) -> None:
    code, said = run(words, **files)
    assert (code, said[: len(message)]) == (2, message)


def test_a_message_about_several_places_is_said_once(run: Run) -> None:
    request = copy.deepcopy(CHECK)
    request["lines"][0]["node_id"] = ["a", "b", "c"]
    request["target"]["loadfactor"] = 1.0
    where = "/lines/0/node_id"
    assert run("check a.json", a_json=request)[1].splitlines()[:2] == [
        "4 inputs are refused",
        f"  {where}/0, {where}/1, {where}/2: an entry of node_id must be a whole number",
    ]
    request["lines"][0]["position_mm"] = ["x"] * 5
    assert "/lines/0/position_mm/2 and 2 more: an entry of position_mm" in run("check a.json", a_json=request)[1]


@pytest.mark.parametrize(
    ("weights", "message"),
    [
        ({"opning": 1.0}, "/weights/opning: no mode is called 'opning' (did you mean 'opening'?)"),
        ({"opening": 1.0}, "/weights/tearing: tearing is needed: every mode has a weight"),
    ],
)
def test_weights_and_modes_have_the_same_names(run: Run, weights: dict[str, float], message: str) -> None:
    request = {**request_of("spectrum/damage-modes"), "weights": weights}
    assert run("damage a.json", a_json=request) == (2, message)


def test_a_column_of_another_length_counts_its_entries(run: Run) -> None:
    request = {**request_of("spectrum/damage-blocks"), "count": [1.0]}
    assert run("damage a.json", a_json=request) == (2, "/count: count has 1 entry where 4 were expected")


def test_a_gate_says_a_refusal_once(run: Run, capsys: pytest.CaptureFixture[str]) -> None:
    request = copy.deepcopy(CHECK)
    request["lines"][0]["notch"]["kind"] = "tow"
    Path("a.json").write_text(json.dumps(request), encoding="utf-8")
    assert cli.main(["gate", "a.json"]) == 2
    shown = capsys.readouterr().out
    assert "a.json: /lines/0/notch/kind: kind must be one of toe, root (did you mean 'toe'?)" in shown
    assert shown.count("did you mean") == 1
