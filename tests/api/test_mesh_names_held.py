"""Names of the numbers of an array say their order and their unit, and both are held against the map in every route."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.errors import InputError
from service.mesh.raw import RawMesh
from service.mesh.stated import guard_stated
from service.mesh.tensors import COMPONENTS, axes_of, guard_components
from tests.api.test_mesh_files_by_hand import SIX as ROWS_OF_SIX
from tests.api.test_mesh_files_by_hand import VTK, read
from tests.api.test_mesh_orders import FORMAT
from tests.api.test_mesh_stated import QUERY, array, layout, raw, vtu

XZ = ("xx", "yy", "zz", "xy", "zx", "yz")


def called(*names: str, name: str = "S") -> str:
    """An array of a VTU file whose numbers have names with blanks."""
    words = "".join(f' ComponentName{at}="{word}"' for at, word in enumerate(names))
    return array(name=name).replace(">", words + ">", 1)


def posted(client: httpx.Client, arrays: str, attributes: str = "", **query: Any) -> httpx.Response:
    body = vtu(f"<PointData{attributes}>{arrays}</PointData>")
    return client.post(
        "/v1/stress/weld-lines", params=QUERY | query, content=body, headers={"content-type": "text/xml"}
    )


# units


@pytest.mark.parametrize(
    ("unit", "factor", "message"),
    [
        ("[ksi]", 1.0, "which asks for 6.894757, not 1"),
        ("_MPa", 1e-6, "which asks for 1, not 1e-6"),
        ("[Pa]", 1.0, "which asks for 1e-6, not 1"),
        ("[mm]", 1.0, "which is no unit of stress"),
        ("[MPa] (ksi)", 1.0, "which asks for 6.894757, not 1"),
        ("[MPa]", 1.0, ""),
        (" N/mm2", 1.0, ""),
    ],
)
def test_the_unit_in_the_names_of_numbers_must_fit_the_factor(
    client: httpx.Client, unit: str, factor: float, message: str
) -> None:
    names = tuple(f"S{axes}{unit}" for axes in COMPONENTS)
    answer = posted(client, called(*names), stress_factor=factor)
    given = layout(stress_factor=factor)
    if not message:
        assert answer.status_code == 200
        assert guard_stated(raw(components={"S": names}), given) == ()
        return
    with pytest.raises(InputError) as refused:
        guard_stated(raw(components={"S": names}), given)
    assert message in str(refused.value)
    assert "array 'S'" in str(refused.value)
    assert (answer.status_code, answer.json()["detail"]) == (422, str(refused.value))


def test_a_unit_that_is_not_known_is_said_and_over_http_refused(client: httpx.Client) -> None:
    names = tuple(f"S{axes} [odd]" for axes in COMPONENTS)
    (said,) = guard_stated(raw(components={"S": names}), layout())
    assert said.code == "unit-not-read"
    assert "in 'odd', an unknown unit" in said.message
    assert "'odd'" in posted(client, called(*names)).json()["detail"]


def test_the_unit_of_arrays_of_one_number_is_held_as_well() -> None:
    arrays = {name: np.zeros(5) for name in COMPONENTS}
    held = raw(point_data=arrays, components={"xx": ("[ksi]",)})
    with pytest.raises(InputError, match="asks for"):
        guard_stated(held, layout(cases={"pull": {name: name for name in COMPONENTS}}, components=None))


def test_a_unit_beside_the_numbers_and_one_in_their_names_are_both_held() -> None:
    held = raw(components={"S": tuple(f"SI{axes} [Pa]" for axes in COMPONENTS)}, units={"S": ("MPa",) * 6})
    for factor in (1.0, 1e-6):
        with pytest.raises(InputError, match="asks for"):
            guard_stated(held, layout(stress_factor=factor))


# axes


@pytest.mark.parametrize(
    "names",
    [
        "S00|S11|S22|S01|S12|S02",
        "XX avg|YY avg|ZZ avg|XY avg|YZ avg|ZX avg",
        "XX_real|YY_real|ZZ_real|XY_real|YZ_real|XZ_real",
        "x-stress|y-stress|z-stress|xy-stress|yz-stress|xz-stress",
        "S_XX_1|S_YY_1|S_ZZ_1|S_XY_1|S_YZ_1|S_ZX_1",
        "s11 (avg)|s22 max|S33 max|S12 max|s23 max|S31 max",
        "XX_MPa avg|YY|ZZ|XY|YZ|ZX",
        "XX epoxy|YY epoxy|ZZ epoxy|XY epoxy|YZ epoxy|ZX epoxy",
    ],
)
def test_names_are_read_counted_from_0_and_with_words_behind(client: httpx.Client, names: str) -> None:
    words = names.split("|")
    assert guard_components(words, COMPONENTS, 6) == ""
    assert posted(client, called(*words)).status_code == 200
    with pytest.raises(InputError, match="another order than"):
        guard_components(words, XZ, 6)
    assert "another order" in posted(client, called(*words), components=",".join(XZ)).json()["detail"]


def test_nine_names_may_count_from_0() -> None:
    rows = [f"{one}{other}" for one in "012" for other in "012"]
    assert guard_components(rows, None, 9) == ""
    with pytest.raises(InputError, match="another order"):
        guard_components(rows[::-1][1:] + rows[:1], None, 9)


@pytest.mark.parametrize("names", ["C00|C01|C02|C03|C04|C05", "a 12 b|b|c|d|e|f", "max|min|S|1|2|3"])
def test_names_that_only_count_name_no_axes(names: str) -> None:
    assert "axes" in guard_components(names.split("|"), COMPONENTS, 6)


@pytest.mark.parametrize("name", ["S_12x", "total 12 s", "ystress2"])
def test_a_name_says_its_axes_once(name: str) -> None:
    assert axes_of(name) is None


@pytest.mark.parametrize(
    ("names", "components", "message"),
    [
        ({"yz": "S_zx", "zx": "S_yz"}, {}, "'S_zx' stands for yz in the map, and 'S_zx' names zx"),
        ({"xx": "s22", "yy": "s11"}, {}, "names yy"),
        ({"xx": "a"}, {"a": ("SYY",)}, "array 'a' stands for xx in the map, and 'SYY' names yy"),
        ({"xx": "sigma_y"}, {}, "names yy"),
        ({}, {}, ""),
        ({"xx": "epoxy", "yy": "load 12", "zz": "S 1"}, {"epoxy": ("XX [MPa]",)}, ""),
    ],
)
def test_an_array_of_one_number_is_the_component_that_it_is_called(
    names: dict[str, str], components: dict[str, tuple[str, ...]], message: str
) -> None:
    given = {axes: names.get(axes, f"S_{axes}") for axes in COMPONENTS}
    held = raw(point_data={name: np.zeros(5) for name in given.values()}, components=components)
    if not message:
        assert guard_stated(held, layout(cases={"pull": given}, components=None)) == ()
        return
    with pytest.raises(InputError, match=message) as refused:
        guard_stated(held, layout(cases={"pull": given}, components=None))
    assert refused.value.path == ("mesh", "cases", "pull")


# orders that a format fixes


def fixed_by_names(folder: Path, names: str) -> RawMesh:
    data = f"POINT_DATA 4\nTENSORS6 S float\n{ROWS_OF_SIX}\nMETADATA\nCOMPONENT_NAMES\n"
    return read(folder, f"{VTK}{data}" + "\n".join(names.split()) + "\n\n", "a.vtk")


def test_names_beside_an_order_of_the_format_leave_it_fixed(tmp_path: Path) -> None:
    found = fixed_by_names(tmp_path, "C0 C1 C2 C3 C4 C5")
    assert guard_stated(found, layout()) == ()
    with pytest.raises(InputError, match="the format fixes the order of array 'S': XX, YY, ZZ, XY, YZ, XZ"):
        guard_stated(found, layout(components=FORMAT))
    said = guard_stated(found, layout(components=FORMAT, ignore_format_order=True))
    assert [finding.code for finding in said] == ["component-order-assumed"] * 2


def test_names_that_contradict_the_order_of_the_format_are_held_to_even_where_it_is_ignored(tmp_path: Path) -> None:
    found = fixed_by_names(tmp_path, "XX XY XZ YY YZ ZZ")
    for given in (layout(), layout(components=FORMAT), layout(ignore_format_order=True)):
        with pytest.raises(InputError, match="order"):
            guard_stated(found, given)
    assert len(guard_stated(found, layout(components=FORMAT, ignore_format_order=True))) == 1


def test_the_active_tensors_of_a_vtu_file_have_the_order_of_the_format(client: httpx.Client, tmp_path: Path) -> None:
    body = vtu(f'<PointData Tensors="S">{array()}</PointData>')
    found = read(tmp_path, body, "a.vtu")
    assert guard_stated(found, layout()) == ()
    with pytest.raises(InputError, match="the format fixes the order of array 'S'"):
        guard_stated(found, layout(components=list(XZ)))
    assert len(guard_stated(found, layout(components=list(XZ), ignore_format_order=True))) == 1
    assert posted(client, array(), ' Tensors="S"').status_code == 200
    refused = posted(client, array(), ' Tensors="S"', components=",".join(XZ))
    assert "the format fixes the order of array 'S'" in refused.json()["detail"]
    assert "ignore_format_order" not in refused.text
    for other in (' Scalars="S"', ' Tensors="T"'):
        assert posted(client, array(), other, components=",".join(XZ)).status_code == 200


# queries


@pytest.mark.parametrize(
    ("query", "where"),
    [
        ({"points_mm": "1"}, "/points_mm"),
        ({"tensors_mpa": "1"}, "/tensors_mpa"),
        ({"element_blocks": "1"}, "/element_blocks"),
        ({"cases": ":S"}, "/cases"),
        ({"cases": " :S"}, "/cases"),
        ({"cases": "pull:"}, "/cases/pull"),
        ({"cases": ","}, "/cases"),
        ({"symmetry": ""}, "/symmetry"),
        ({"components": " , "}, "/components"),
    ],
)
def test_what_a_query_gives_is_used_or_refused(client: httpx.Client, query: dict[str, str], where: str) -> None:
    answer = posted(client, array(), **query)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"].removeprefix("#") == where
