"""What a body or a file may cost: compressed parts, places of arrays, small numbers, elements that lie twice."""

from __future__ import annotations

import base64
import struct
import time
import zlib
from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.errors import InputError
from fatcore.stress.weld_lines.solid import mesh as core
from fatcore.stress.weld_lines.solid.mesh import solid_mesh
from service.base.problems import Problem
from service.mesh.formats.vtu import read_vtu
from service.topics.stress import weld_lines
from tests.api.test_mesh_vtu import CELLS, POINTS, arrays, ascii_parts, changed, packed, refused, text
from tests.api.test_mesh_vtu_by_hand import ZIPPED, appended, in_blocks, with_data

URL = "/v1/stress/weld-lines"


def zipped_points(*head: int) -> bytes:
    """Points in compressed parts as a header states them."""
    parts = [zlib.compress(POINTS.tobytes())] + [zlib.compress(b"")] * (head[0] - 1)
    sizes = struct.pack(f"<{3 + len(parts)}I", *head, *map(len, parts))
    data = (base64.b64encode(sizes) + base64.b64encode(b"".join(parts))).decode()
    return text({**ascii_parts(), "points": 'format="binary">' + data}, attributes=ZIPPED)


def test_compressed_parts_have_a_size() -> None:
    assert len(read_vtu(zipped_points(1, 120, 0)).points) == 5
    assert "compressed parts of no size" in refused(zipped_points(3, 0, 120))


def test_there_are_no_more_compressed_parts_than_the_data_can_need() -> None:
    """A thousand, and one for every 4 KiB of the limit."""
    content = np.zeros(3 * 1257).tobytes()
    body = text({**ascii_parts(), "points": 'format="binary">' + in_blocks(content, 24).decode()}, attributes=ZIPPED)
    assert "more compressed parts than its data need" in refused(body, 1 << 20)
    assert "Points must be" in refused(body, 1 << 22)


def test_an_array_of_no_parts_is_empty() -> None:
    empty = {name: 'format="binary">' + base64.b64encode(bytes(4)).decode() for name in arrays()}
    raw = read_vtu(text({**empty, "points": ascii_parts()["points"]}, attributes=ZIPPED, cells="0"))
    assert raw.cells == ()


@pytest.mark.parametrize("zipped", [False, True])
def test_arrays_do_not_lie_at_one_place(zipped: bool) -> None:
    """Others lie behind it, so that twice the first are no more bytes than there are."""
    data = (in_blocks(POINTS.tobytes(), 120, raw=True) if zipped else packed(POINTS, raw=True)) + b"x" * 200
    inner = {**ascii_parts(), "points": 'format="appended" offset="0">'}
    body = text(inner, attributes=ZIPPED if zipped else "", appended=appended(data))
    assert len(read_vtu(body).points) == 5
    twice = body.replace(
        b"<Points>",
        b'<PointData><DataArray Name="S" type="Float64" format="appended" offset="0"/></PointData><Points>',
    )
    assert "several arrays lie at one place of the appended data" in refused(twice)


def test_arrays_do_not_lie_over_each_other() -> None:
    """The second begins within the first: 4 + 120 bytes and 4 + 8 are more than the 124 that there are."""
    data = bytearray(packed(POINTS, raw=True))
    data[20:24] = struct.pack("<I", 8)
    data += b"x" * 7
    inner = {**ascii_parts(), "points": 'format="appended" offset="0">'}
    body = text(inner, appended=appended(bytes(data))).replace(
        b"<Points>",
        b'<PointData><DataArray Name="S" type="Float64" format="appended" offset="20"/></PointData><Points>',
    )
    assert "several arrays lie at one place" in refused(body)


@pytest.mark.parametrize("zipped", [False, True])
def test_data_behind_what_an_array_announces_are_refused(zipped: bool) -> None:
    data = in_blocks(POINTS.tobytes(), 120) if zipped else packed(POINTS)
    for more in (b"", b"AAAA"):
        body = text(
            {**ascii_parts(), "points": 'format="binary">' + (data + more).decode()},
            attributes=ZIPPED if zipped else "",
        )
        if more:
            assert "array 'points' goes on behind what it announces" in refused(body)
        else:
            assert len(read_vtu(body).points) == 5


def test_numbers_of_one_byte_count_with_four() -> None:
    """Points 15 of 8 bytes, nodes 8 of 4, ends 2 of 4, types 2 of 1; with 40 numbers of two bytes 160 more."""
    body = text(ascii_parts()).replace(
        b"<Points>",
        b'<PointData><DataArray Name="S" NumberOfComponents="8" type="Int16" format="ascii">'
        + b"1 " * 40
        + b"</DataArray></PointData><Points>",
    )
    assert len(read_vtu(body, 168 + 160).points) == 5
    assert refused(body, 168 + 159) == "the arrays of the mesh are larger than the limit"


def test_counts_are_held_against_their_limits_before_arrays_are_read() -> None:
    body = changed("points", 'format="odd">')
    for limits in ((4, 9), (9, 1)):
        with pytest.raises(Problem) as error:
            read_vtu(body, 1 << 20, *limits)
        assert error.value.status == 413
    assert "data format 'odd'" in refused(body)
    assert len(read_vtu(text(ascii_parts()), 1 << 20, 5, 2).points) == 5


# hidden and double parts


@pytest.mark.parametrize("mark", [1, 32])
def test_hidden_and_copied_parts_are_refused(mark: int) -> None:
    for place, rows in (("CellData", 2), ("PointData", 5)):
        for last in (0, mark):
            values = " ".join(["0"] * (rows - 1) + [str(last)])
            array = f'<DataArray Name="vtkGhostType" type="UInt8" format="ascii">{values}</DataArray>'
            body = text(ascii_parts()).replace(b"<Points>", f"<{place}>{array}</{place}><Points>".encode())
            if last:
                assert "marks nodes or elements as hidden" in refused(body)
            else:
                assert len(read_vtu(body).points) == 5


@pytest.mark.parametrize("name", ["connectivity", "offsets", "types"])
def test_an_array_of_the_cells_is_there_once(name: str) -> None:
    body = text(ascii_parts())
    at = body.index(f'<DataArray Name="{name}"'.encode())
    one = body[at : body.index(b"</DataArray>", at) + len(b"</DataArray>")]
    assert f"array {name!r} is there more than once" in refused(body.replace(one, one + one))


@pytest.mark.parametrize("section", ["PointData", "CellData", "Cells"])
def test_a_section_is_there_once(section: str) -> None:
    body = with_data().replace(b"<PointData>", f"<CellData/><{section}/><PointData>".encode())
    assert f"2 times {section}, where one counts" in refused(body)


@pytest.mark.parametrize("word", ["encoding='raw'", 'encoding = "raw"', 'other="a" encoding="raw"'])
def test_raw_data_is_told_in_either_quotes(word: str) -> None:
    inner = {**ascii_parts(), "points": 'format="appended" offset="0">'}
    body = text(inner, appended=appended(packed(POINTS, raw=True)).replace(b'encoding="raw"', word.encode()))
    assert read_vtu(body).points.tolist() == POINTS.tolist()


# elements


def test_elements_that_lie_twice_are_found_before_their_faces_are_taken() -> None:
    for more in (CELLS[:1], CELLS[:1, [1, 0, 2, 3]], CELLS[1:, ::-1]):
        with pytest.raises(InputError, match="two elements have the same corners: elements lie twice") as error:
            solid_mesh(POINTS, [("tet4", CELLS), ("tet4", more)])
        assert error.value.path == ("element_blocks",)
    assert solid_mesh(POINTS, [("tet4", CELLS)]).element_total == 2


def test_elements_of_any_numbers_have_their_own_mark() -> None:
    rng = np.random.default_rng(1)
    corners = np.unique(np.sort(rng.integers(0, 5_000_000, (200_000, 4)), axis=1), axis=0)
    assert len(np.unique(core._marks(corners))) == len(corners)


def test_many_elements_on_few_points_are_refused_at_once() -> None:
    start = time.process_time()
    with pytest.raises(InputError, match="300000 elements on 4 points: elements lie twice"):
        solid_mesh(POINTS[:4], [("tet4", np.tile(np.arange(4), (300_000, 1)))])
    assert time.process_time() - start < 5.0


def test_a_node_may_have_twenty_elements_and_a_mesh_a_thousand_besides() -> None:
    for count, message in ((1100, "same corners"), (1101, "1101 elements on 5 points")):
        with pytest.raises(InputError, match=message):
            solid_mesh(POINTS, [("tet4", np.tile(CELLS, (551, 1))[:count])])


def test_a_mesh_has_no_more_elements_than_stated(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(core, "MAX_ELEMENTS", 2)
    assert solid_mesh(POINTS, [("tet4", CELLS)]).element_total == 2
    monkeypatch.setattr(core, "MAX_ELEMENTS", 1)
    with pytest.raises(InputError, match="the mesh has 2 elements, more than 1"):
        solid_mesh(POINTS, [("tet4", CELLS)])


@pytest.mark.parametrize(
    ("name", "most", "message"),
    [("MAX_ELEMENTS", 2, ""), ("MAX_ELEMENTS", 1, "2 elements"), ("MAX_ENTRIES", 7, "8 node numbers of elements")],
)
def test_elements_of_a_request_are_counted_before_the_search(
    client: httpx.Client, monkeypatch: pytest.MonkeyPatch, name: str, most: int, message: str
) -> None:
    monkeypatch.setattr(weld_lines, name, most)
    request: dict[str, Any] = {
        "points_mm": POINTS.tolist(),
        "element_blocks": [
            {"element": "tet4", "nodes": CELLS[:1].tolist()},
            {"element": "tet4", "nodes": CELLS[1:].tolist()},
        ],
    }
    answer = client.post(URL, json=request)
    if not message:
        assert answer.status_code == 200
        return
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"].endswith("/element_blocks")
    assert f"the mesh has {message}, more than {most}" in answer.text


def test_the_route_states_its_limits(client: httpx.Client) -> None:
    told = client.get("/openapi.json").json()["paths"][URL]["post"]["description"]
    assert weld_lines.MAX_ELEMENTS == 2_000_000
    for limit in ("1,000,000 nodes", "2,000,000 elements", "20,000,000 node numbers", "2000 weld lines", "256 MiB"):
        assert limit in told.replace("\n", " ")
