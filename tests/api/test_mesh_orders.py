"""Order, width and place of the numbers of an array hold for the array and its step, and are held against the map."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import h5py
import httpx
import numpy as np
import pytest

from fatcore.errors import InputError
from service.mesh.files import read_mesh_file
from service.mesh.layout import Search
from service.mesh.listing import listing_text
from service.mesh.mapping import search
from service.mesh.stated import guard_stated
from service.mesh.stresses import stresses_of
from service.mesh.tensors import COMPONENTS, axes_of, guard_components
from tests.api.test_mesh_files_by_hand import MESH, VTK, grid, item, read, series, step, xdmf
from tests.api.test_mesh_files_by_hand import SIX as ROWS_OF_SIX
from tests.api.test_mesh_numbers import CORNERS, element_nodal, med
from tests.api.test_mesh_stated import QUERY, array, attributes, layout, raw, vtu, words

FORMAT = ["xx", "xy", "zx", "yy", "yz", "zz"]  # of a symmetric tensor, as XDMF fixes it


def tensor(kind: str, values: str, wide: int) -> str:
    """An array of four points."""
    return f"<Attribute Name='S' AttributeType='{kind}' Center='Node'>" + item(values * 4, f"4 {wide}") + "</Attribute>"


SIX = tensor("Tensor6", "1 2 3 4 5 6 ", 6)
NINE = tensor("Tensor", "1 4 6 4 2 5 6 5 3 ", 9)
OTHER = "<Attribute Name='U' Center='Node'>" + item("0 0 0 0", "4") + "</Attribute>"


def case(at: int) -> dict[str, Any]:
    return {"pull": {"array": "S", "step": at}}


# steps in time


@pytest.mark.parametrize("first", [OTHER, NINE])
def test_the_order_that_the_format_fixes_holds_from_the_step_on_that_has_it(tmp_path: Path, first: str) -> None:
    found = read(tmp_path, xdmf(series(step(0, first, MESH), step(1, SIX), step(2, SIX))), "a.xdmf")
    for at in (1, 2):
        with pytest.raises(InputError, match="the format fixes the order of array 'S': XX, XY, XZ") as refused:
            guard_stated(found, layout(cases=case(at)))
        assert refused.value.path == ("mesh", "cases", "pull")
        assert guard_stated(found, layout(cases=case(at), components=FORMAT)) == ()
        assert stresses_of(found, layout(cases=case(at), components=FORMAT))["pull"][0].tolist() == [1, 4, 6, 2, 5, 3]
    if first == NINE:
        assert guard_stated(found, layout(cases=case(0))) == ()
        assert stresses_of(found, layout(cases=case(0)))["pull"][0].tolist() == [1, 2, 3, 4, 5, 6]


def test_a_writer_that_kept_an_order_of_its_own_is_read_by_the_map_which_says_so(tmp_path: Path) -> None:
    found = read(tmp_path, xdmf(grid(MESH + SIX)), "a.xdmf")
    with pytest.raises(InputError, match="give that one and ignore_format_order = true"):
        guard_stated(found, layout())
    given = layout(ignore_format_order=True)
    (said,) = guard_stated(found, given)
    assert (said.code, said.severity) == ("component-order-assumed", "caution")
    assert said.message.endswith("XX, XY, XZ, YY, YZ, ZZ, which the map ignores; taken as xx, yy, zz, xy, yz, zx")
    assert stresses_of(found, given)["pull"][0].tolist() == [1, 2, 3, 4, 5, 6]
    with pytest.raises(InputError, match="fixes the order of no array") as refused:
        guard_stated(raw(), given)
    assert refused.value.path == ("mesh", "ignore_format_order")


def test_the_order_of_the_legacy_format_is_fixed_as_well(tmp_path: Path) -> None:
    found = read(tmp_path, f"{VTK}POINT_DATA 4\nTENSORS6 S float\n{ROWS_OF_SIX}", "a.vtk")
    other = layout(components=FORMAT)
    with pytest.raises(InputError, match="the format fixes the order"):
        guard_stated(found, other)
    assert len(guard_stated(found, layout(components=FORMAT, ignore_format_order=True))) == 1
    assert guard_stated(found, layout()) == ()


def test_an_array_has_the_numbers_of_its_type(tmp_path: Path) -> None:
    for kind, wide in (("Tensor6", 9), ("Tensor", 6), ("Tensor6", 5)):
        with pytest.raises(InputError, match=f"'S' is a {kind.lower()}, and has not"):
            read(tmp_path, xdmf(grid(MESH + tensor(kind, "1 " * wide, wide))), "a.xdmf")


@pytest.mark.parametrize("name", ["Topology", "Geometry"])
def test_a_grid_has_one_mesh(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputError, match=f"a grid has 2 times {name}"):
        read(tmp_path, xdmf(grid(f"{MESH}<{name}/>")), "a.xdmf")


def test_arrays_of_a_grid_beside_a_series_are_read_and_all_arrays_of_the_series_listed(tmp_path: Path) -> None:
    found = read(
        tmp_path, xdmf(grid(MESH + OTHER.replace("'U'", "' V '")) + series(step(0, OTHER), step(1, SIX))), "a.xdmf"
    )
    assert list(found.point_data) == ["V"]
    text = listing_text(found, search(found, 1.0, [], Search()), 1.0)
    assert "2 time steps of S, U" in text


def test_a_grid_beside_a_series_has_its_own_arrays_where_the_mesh_stands_in_the_steps(tmp_path: Path) -> None:
    found = read(tmp_path, xdmf(grid(OTHER) + series(step(0, SIX, MESH), step(1, SIX))), "a.xdmf")
    assert (list(found.point_data), len(found.steps)) == (["U"], 2)


def test_a_step_of_a_field_counts_those_of_the_field_as_its_name_does(tmp_path: Path) -> None:
    """S has steps at 1 and 2, U at 0, 1 and 2, V one step."""
    file = med(tmp_path, point_data={"S": np.ones((5, 6)), "U": np.zeros((5, 6)), "V": np.ones((5, 6))})
    with h5py.File(file, "r+") as content:
        for name, times in (("S", (1.0, 2.0)), ("U", (0.0, 1.0, 2.0))):
            field = content["CHA"][name]
            (key,) = field
            for at, time in enumerate(times):
                field.copy(key, f"{at:020d}{0:020d}")
                new = field[f"{at:020d}{0:020d}"]
                new.attrs["PDT"] = time
                values = new["NOE"]["MED_NO_PROFILE_INTERNAL"]["CO"]
                values[...] = values[()] * time
            del field[key]
    found = read_mesh_file(str(file))
    assert sorted(found.point_data) == ["S[0] - 1", "S[1] - 2", "U[0] - 0", "U[1] - 1", "U[2] - 2", "V"]
    for given, value in (({"step": 0}, 1.0), ({"step": 1}, 2.0), ({"time": 2.0}, 2.0)):
        taken = stresses_of(found, layout(cases={"pull": {"array": "S", **given}}))
        assert taken["pull"][0, 0] == value
    assert stresses_of(found, layout(cases={"pull": {"array": "V", "step": 0}}))["pull"][0, 0] == 1.0
    for wrong, message in (({"step": 2}, "array 'S' has steps 0 to 1"), ({"time": 0.0}, "0 steps have this time")):
        with pytest.raises(InputError, match=message):
            guard_stated(found, layout(cases={"pull": {"array": "S", **wrong}}))
    with pytest.raises(InputError, match="no array 'W'"):
        stresses_of(found, layout(cases={"pull": {"array": "W", "step": 0}}))


# names of numbers


@pytest.mark.parametrize(
    ("names", "axes"),
    [
        ("sigma_x|sigma_y|sigma_z|tau_xy|tau_yz|tau_zx", COMPONENTS),
        ("Sx|Sy|Sz|Sxy|Syz|Sxz", COMPONENTS),
        ("X|Y|Z|XY|YZ|XZ", COMPONENTS),
        ("xx_MPa|yyMPa|zz N/mm2|xy (MPa)|yz_mpa|xz/MPa", COMPONENTS),
        ("S:11|S-22|S.33|S_12|S 23|S13", COMPONENTS),
    ],
)
def test_names_are_read_with_units_and_with_one_axis_of_a_normal_stress(names: str, axes: tuple[str, ...]) -> None:
    assert tuple(map(axes_of, names.split("|"))) == axes


@pytest.mark.parametrize("name", ["max", "index", "tau_x", "1", "S", "MPa", "von Mises", "s1 (xx)"])
def test_other_names_name_no_axes(name: str) -> None:
    assert axes_of(name) is None


def test_one_name_at_the_wrong_place_is_enough(client: httpx.Client) -> None:
    names = ["a", "b", "c", "d", "tau_xz", "e"]
    for width, order in ((6, "xx, yy, zz, xy, yz, zx"), (9, "xx, xy, zx, xy, yy, yz, zx, yz, zz")):
        with pytest.raises(
            InputError, match=f"the file calls its numbers a, b, .*, which is another order than {order}"
        ):
            guard_components(names, COMPONENTS, width)
    assert guard_components(["a", "", "", "", "yz", ""], COMPONENTS, 6).endswith(
        "of which a, (none), (none), (none), (none) name no axes"
    )
    assert guard_components(["xx", "yy"], COMPONENTS, 6) == "the file calls its numbers xx, yy, which are not 6"
    with pytest.raises(InputError, match="another order"):
        guard_components([*COMPONENTS, "xx"], COMPONENTS, 6)
    assert guard_components(["a"], COMPONENTS, 3) == ""
    found = raw(components={"S": tuple(names)})
    with pytest.raises(InputError) as refused:
        guard_stated(found, layout())
    body = vtu(f"<PointData>{array(' '.join(names))}</PointData>")
    answer = client.post("/v1/stress/weld-lines", params=QUERY, content=body, headers={"content-type": "text/xml"})
    assert answer.json()["detail"] == str(refused.value)


def test_a_name_that_is_missing_leaves_the_others_at_their_places(client: httpx.Client) -> None:
    named = array("a XX").replace('ComponentName0="a"', "")
    answer = client.post(
        "/v1/stress/weld-lines",
        params=QUERY,
        content=vtu(f"<PointData>{named}</PointData>"),
        headers={"content-type": "text/xml"},
    )
    assert "another order" in answer.json()["detail"]


# fields of MED files


@pytest.mark.parametrize("names", ["RTZ", "ZXY", ("X", "THETA", "Z"), ("X", "Y", "XZ")])
def test_axes_of_other_names_or_another_order_are_refused(tmp_path: Path, names: Any) -> None:
    with pytest.raises(InputError, match=r"it calls its axes .*: write x, y, z"):
        read_mesh_file(attributes(element_nodal(tmp_path, CORNERS), of_mesh={"NOM": words(*names)}))


@pytest.mark.parametrize("names", ["XYZ", "xyz", ("COOR_X", "", "z-axis"), ("", "", "")])
def test_axes_in_order_are_read(tmp_path: Path, names: Any) -> None:
    file = attributes(element_nodal(tmp_path, CORNERS), of_mesh={"NOM": words(*names)})
    assert len(read_mesh_file(file).points) == 5


def test_a_field_has_as_many_components_as_it_announces(tmp_path: Path) -> None:
    for nodal in (True, False):
        file = med(tmp_path, point_data={"S": np.zeros((5, 6))}) if nodal else element_nodal(tmp_path, CORNERS)
        with pytest.raises(InputError, match="field 'S' announces 9 components, and holds 6"):
            read_mesh_file(attributes(file, of_field={"NCO": 9}))


def test_a_second_profile_of_a_support_is_refused(tmp_path: Path) -> None:
    for kind in ("NOE.TE4", "NOE"):
        nodal = kind == "NOE"
        file = med(tmp_path, point_data={"S": np.zeros((5, 6))}) if nodal else element_nodal(tmp_path, CORNERS)
        with h5py.File(file, "r+") as content:
            next(iter(content["CHA"]["S"].values()))[kind].create_group("other")
        with pytest.raises(InputError, match=f"field 'S' has 2 profiles of {kind}, where one is read"):
            read_mesh_file(str(file))


def test_a_mean_over_some_of_the_elements_of_a_node_is_no_stress_there(tmp_path: Path) -> None:
    """The second tetrahedron alone has values: node 4 is its own, nodes 1 to 3 are both's."""
    file = element_nodal(tmp_path, CORNERS)
    with h5py.File(file, "r+") as content:
        support = next(iter(content["CHA"]["S"].values()))["NOE.TE4"]
        support.attrs["PFL"] = np.bytes_("second")
        support.move("MED_NO_PROFILE_INTERNAL", "second")
        held = support["second"]["CO"][()].reshape(6, 2, 4)[:, 1].ravel()
        del support["second"]["CO"]
        support["second"]["CO"] = held
        content.create_group("PROFILS").create_group("second")["PFL"] = np.array([2])
    found = read_mesh_file(str(file))
    assert set(stresses_of(found, layout(), np.array([4]))) == {"pull"}
    with pytest.raises(InputError, match="'S' has values of some of the elements at node 3, and not of all") as refused:
        stresses_of(found, layout(), np.array([2, 4]))
    assert refused.value.path == ("mesh", "cases", "pull")
