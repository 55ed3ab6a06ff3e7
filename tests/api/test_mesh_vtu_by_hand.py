"""VTU files written out by hand: every kind of cell and number, every length at its limit, data in several blocks."""

from __future__ import annotations

import base64
import struct
import zlib

import numpy as np
import pytest

from service.mesh.formats.vtu import MAX_BYTES, read_vtu
from tests.api.test_mesh_vtu import ascii_parts, changed, packed, refused, text

# numbers of the open format, with the nodes of each kind
SOLIDS = {
    10: ("tet4", 4),
    12: ("brick8", 8),
    13: ("wedge6", 6),
    14: ("pyramid5", 5),
    24: ("tet10", 10),
    25: ("brick20", 20),
    26: ("wedge15", 15),
    27: ("pyramid13", 13),
}
OTHERS = {
    "points": (1, 2),
    "lines": (3, 4, 21, 35, 68),
    "triangles": (5, 6, 22, 34, 69),
    "quads": (7, 8, 9, 23, 28, 30, 36, 70),
}


def numbers(values: list[int]) -> str:
    return 'format="ascii">' + " ".join(map(str, values))


def cells_of(types: list[int], sizes: list[int]) -> bytes:
    """Cells one after another over nodes 0, 1, 2, ... of twenty points."""
    points = 'format="ascii">' + " ".join(f"{x} 0 0" for x in range(20))
    nodes = [node for size in sizes for node in range(size)]
    ends = np.cumsum(sizes).tolist()
    inner = {"points": points, "connectivity": numbers(nodes), "offsets": numbers(ends), "types": numbers(types)}
    return text(inner, cells=str(len(types)), points="20")


@pytest.mark.parametrize("number", SOLIDS)
def test_a_solid_has_the_nodes_of_its_kind(number: int) -> None:
    element, count = SOLIDS[number]
    raw = read_vtu(cells_of([number, number], [count, count]))
    assert [(kind, nodes.tolist()) for kind, nodes in raw.cells] == [(element, [list(range(count))] * 2)]
    assert raw.other == {}
    for wrong in (count - 1, count + 1) if count < 20 else (count - 1,):
        assert f"a cell of {element} has not {count} nodes" in refused(cells_of([number, number], [count, wrong]))


@pytest.mark.parametrize("word", OTHERS)
def test_cells_without_volume_are_counted_by_their_word(word: str) -> None:
    kinds = list(OTHERS[word])
    raw = read_vtu(cells_of([*kinds, kinds[0], 10], [*([3] * len(kinds)), 3, 4]))
    assert raw.other == {word: len(kinds) + 1}
    assert [kind for kind, _ in raw.cells] == ["tet4"]


def test_cells_of_several_kinds_come_by_number_with_their_own_nodes() -> None:
    raw = read_vtu(cells_of([13, 10, 5, 13], [6, 4, 3, 6]))
    assert [(kind, nodes.shape) for kind, nodes in raw.cells] == [("tet4", (1, 4)), ("wedge6", (2, 6))]
    assert raw.other == {"triangles": 1}


@pytest.mark.parametrize("number", [0, 11, 29, 33, 42, 67, 71])
def test_other_cells_are_refused_beside_the_known_ones(number: int) -> None:
    known = ", ".join(name for name, _ in SOLIDS.values())
    message = refused(cells_of([number], [4]))
    assert message.endswith(f"cells of type {number} are none of the solids read here ({known})")


# numbers and rows


@pytest.mark.parametrize("kind", ["Int8", "UInt8", "Int16", "UInt16", "Int32", "UInt32", "Int64", "UInt64"])
def test_whole_numbers_of_every_size_are_read(kind: str) -> None:
    dtype = np.dtype(kind.lower())
    data = packed(np.array([4, 8], dtype=dtype)).decode()
    body = changed("offsets", 'format="binary">' + data).replace(
        b'Name="offsets" type="Int32"', f'Name="offsets" type="{kind}"'.encode()
    )
    assert read_vtu(body).cells[0][1].tolist() == [[0, 1, 2, 3], [1, 2, 3, 4]]


@pytest.mark.parametrize(("kind", "dtype"), [("Float32", "f4"), ("Float64", "f8")])
def test_floats_of_both_sizes_are_read(kind: str, dtype: str) -> None:
    points = np.arange(15, dtype=dtype).reshape(5, 3) / 8.0
    body = changed("points", 'format="binary">' + packed(points).decode()).replace(b"Float64", kind.encode())
    raw = read_vtu(body)
    assert raw.points.tolist() == points.tolist()
    assert (raw.points.dtype, raw.numbered) == (np.float64, "places in the file, from 0")
    assert raw.node_id.tolist() == [0, 1, 2, 3, 4]


def with_data(*arrays: str) -> bytes:
    section = f"<PointData>{''.join(arrays)}</PointData><Points>".encode()
    return text(ascii_parts()).replace(b"<Points>", section)


def array(name: str, values: list[int], components: str = "") -> str:
    rows = f' NumberOfComponents="{components}"' if components else ""
    return f'<DataArray Name="{name}" type="Int32"{rows} {numbers(values)}</DataArray>'


def test_arrays_with_one_row_a_node_are_kept_and_others_are_not() -> None:
    raw = read_vtu(
        with_data(
            array("one", list(range(5))),
            array("single", list(range(5)), "1"),
            array("two", list(range(10)), "2"),
            array("short", list(range(4))),
            array("", list(range(5))),
            '<Array Name="other" type="String">none</Array>',
        )
    )
    assert {name: values.tolist() for name, values in raw.point_data.items()} == {
        "one": [0, 1, 2, 3, 4],
        "single": [0, 1, 2, 3, 4],
        "two": [[0, 1], [2, 3], [4, 5], [6, 7], [8, 9]],
    }


@pytest.mark.parametrize(("components", "fits"), [("1000", True), ("1001", False), ("0", False), ("x", False)])
def test_a_row_has_one_to_a_thousand_numbers(components: str, fits: bool) -> None:
    body = with_data(array("a", [7] * 5 * int(components) if components.isdecimal() else [7], components))
    if fits:
        assert read_vtu(body).point_data["a"].shape == (5, 1000)
    else:
        assert refused(body).endswith("array 'a' is no whole number of rows")


def test_a_row_that_is_not_whole_is_refused() -> None:
    assert "array 'a' is no whole number of rows" in refused(with_data(array("a", [7] * 9, "2")))


# counts


@pytest.mark.parametrize(
    ("digits", "message"),
    [("0" * 11 + "5", None), ("0" * 12 + "5", "NumberOfPoints is no number"), ("", "NumberOfPoints is no number")],
)
def test_a_count_has_at_most_twelve_digits(digits: str, message: str | None) -> None:
    body = text(ascii_parts(), points=digits)
    if message is None:
        assert len(read_vtu(body).points) == 5
    else:
        assert message in refused(body)


def test_points_have_three_coordinates() -> None:
    for rows, values in (("2", 10), ("1", 5), ("4", 20)):
        body = changed("points", numbers([0] * values)).replace(b'Components="3"', f'Components="{rows}"'.encode())
        assert "Points must be NumberOfPoints rows of three" in refused(body)


@pytest.mark.parametrize("name", ["offsets", "types"])
def test_cells_have_one_end_and_one_type_each(name: str) -> None:
    short = {"offsets": [8], "types": [10]}[name]
    assert "offsets and types must be NumberOfCells long" in refused(changed(name, numbers(short)))


def test_every_part_of_the_cells_that_is_missing_is_named() -> None:
    parts = {name: part for name, part in ascii_parts().items() if name not in ("types", "offsets")}
    assert refused(text(parts)).endswith("its cells have no offsets and no types")


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("connectivity", [0, 1, 2, 3, 1, 2, 3, -1]),
        ("connectivity", [0, 1, 2, 3, 1, 2, 3, 5]),
        ("offsets", [4, 7]),
        ("offsets", [5, 4]),
        ("offsets", [-1, 8]),
    ],
)
def test_nodes_are_those_of_the_points_and_ends_rise(name: str, values: list[int]) -> None:
    assert "connectivity and offsets contradict each other or the number of points" in refused(
        changed(name, numbers(values))
    )


def test_a_cell_of_no_nodes_is_none_of_its_kind() -> None:
    body = text(
        {**ascii_parts(), "connectivity": numbers([0, 1, 2, 3]), "offsets": numbers([4, 4])},
    )
    assert "a cell of tet4 has not 4 nodes" in refused(body)


def test_a_mesh_without_cells_is_read() -> None:
    empty = {name: numbers([]) for name in ("connectivity", "offsets", "types")}
    raw = read_vtu(text({**ascii_parts(), **empty}, cells="0"))
    assert (raw.cells, raw.other, len(raw.points)) == ((), {}, 5)


@pytest.mark.parametrize("declaration", [b"<!DOCTYPE VTKFile>", b'<!ENTITY a "b">'])
def test_a_declaration_of_either_kind_is_refused(declaration: bytes) -> None:
    assert "it declares entities" in refused(declaration + text(ascii_parts())[21:])


# limits and packed data


def test_text_counts_with_the_size_of_its_numbers() -> None:
    """Points 15 of 8 bytes, nodes 8 of 4, ends 2 of 4, types 2 of 1 that count as four: 168 bytes."""
    assert len(read_vtu(text(ascii_parts()), 168).points) == 5
    assert refused(text(ascii_parts()), 167) == "the arrays of the mesh are larger than the limit"


@pytest.mark.parametrize(("size", "message"), [(1 << 30, "data is cut off"), ((1 << 30) + 1, "larger than the limit")])
def test_a_file_may_hold_a_gibibyte(size: int, message: str) -> None:
    assert MAX_BYTES == 1 << 30
    head = base64.b64encode(struct.pack("<I", size)).decode()
    assert message in refused(changed("points", 'format="binary">' + head), MAX_BYTES)


def test_text_that_is_no_base64_is_refused() -> None:
    data = packed(np.zeros((5, 3))).decode()
    assert "not a VTU file" in refused(changed("points", f'format="binary">{data[:9]}*{data[9:]}'))


def appended(content: bytes, encoding: str = "raw") -> bytes:
    return f'<AppendedData encoding="{encoding}">_'.encode() + content + b"</AppendedData>"


@pytest.mark.parametrize("encoding", ["raw", "base64"])
@pytest.mark.parametrize("wide", [False, True])
def test_sizes_of_four_and_of_eight_bytes_are_read_behind_other_data(encoding: str, wide: bool) -> None:
    points = np.arange(15.0).reshape(5, 3)
    data = struct.pack("<Q" if wide else "<I", 120) + points.tobytes()
    before = b"ABCD" * 5
    content = before + (data if encoding == "raw" else base64.b64encode(data)) + b"EFGH"
    inner = {**ascii_parts(), "points": 'format="appended" offset="20">'}
    attributes = 'header_type="UInt64"' if wide else 'header_type="UInt32"'
    raw = read_vtu(text(inner, attributes=attributes, appended=appended(content, encoding)))
    assert raw.points.tolist() == points.tolist()


@pytest.mark.parametrize("digits", ["0" * 12, "0" * 13])
def test_an_offset_has_at_most_twelve_digits(digits: str) -> None:
    inner = {**ascii_parts(), "points": f'format="appended" offset="{digits}">'}
    body = text(inner, appended=appended(packed(np.zeros((5, 3)), raw=True)))
    if len(digits) == 12:
        assert read_vtu(body).points.tolist() == [[0.0] * 3] * 5
    else:
        assert "an offset into the appended data is no number" in refused(body)


def in_blocks(content: bytes, block: int, *, raw: bool = False, wide: bool = False) -> bytes:
    """Compressed in blocks of so many bytes, the last one shorter where they do not divide the whole."""
    parts = [zlib.compress(content[at : at + block]) for at in range(0, len(content), block)]
    sizes = [len(parts), block, len(content) % block, *map(len, parts)]
    head, data = struct.pack(f"<{len(sizes)}{'Q' if wide else 'I'}", *sizes), b"".join(parts)
    return head + data if raw else base64.b64encode(head) + base64.b64encode(data)


ZIPPED = 'compressor="vtkZLibDataCompressor"'


@pytest.mark.parametrize("block", [40, 50, 119, 120, 200])
@pytest.mark.parametrize("wide", [False, True])
def test_compressed_data_comes_in_blocks_of_which_the_last_may_be_shorter(block: int, wide: bool) -> None:
    points = np.arange(15.0).reshape(5, 3)
    attributes = ZIPPED + (' header_type="UInt64"' if wide else "")
    types = in_blocks(np.array([10, 10], dtype=np.uint8).tobytes(), 2, wide=wide)
    inner = {
        **ascii_parts(),
        "points": 'format="binary">' + in_blocks(points.tobytes(), block, wide=wide).decode(),
        "types": 'format="binary">' + types.decode(),
    }
    assert read_vtu(text(inner, attributes=attributes)).points.tolist() == points.tolist()


def test_blocks_count_towards_the_limit_with_their_size_unpacked() -> None:
    points = in_blocks(np.arange(15.0).tobytes(), 50).decode()
    body = text({**ascii_parts(), "points": 'format="binary">' + points}, attributes=ZIPPED)
    assert len(read_vtu(body, 168).points) == 5
    assert refused(body, 167) == "the arrays of the mesh are larger than the limit"


def test_data_that_is_longer_than_announced_is_refused() -> None:
    part = zlib.compress(bytes(121))
    head = struct.pack("<4I", 1, 120, 120, len(part))
    inner = {**ascii_parts(), "points": 'format="appended" offset="0">'}
    assert "data is cut off" in refused(text(inner, attributes=ZIPPED, appended=appended(head + part)))
