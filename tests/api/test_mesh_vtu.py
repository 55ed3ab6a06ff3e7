"""The reader of VTU bodies against a general-purpose mesh library, and what it refuses."""

from __future__ import annotations

import base64
import struct
import zlib
from pathlib import Path

import meshio
import numpy as np
import pytest

from fatcore.errors import InputError
from service.mesh.formats.vtu import read_vtu
from tests.shapes.files import FOLDER, MODELS

POINTS = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 1.0, 1.0]])
CELLS = np.array([[0, 1, 2, 3], [1, 2, 3, 4]])


@pytest.mark.parametrize("name", MODELS)
def test_real_models_read_as_the_library_reads_them(name: str) -> None:
    ours, theirs = read_vtu((FOLDER / f"{name}.vtu").read_bytes()), meshio.read(FOLDER / f"{name}.vtu")
    assert np.array_equal(ours.points, theirs.points)
    assert [np.array_equal(nodes, block.data) for (_, nodes), block in zip(ours.cells, theirs.cells, strict=True)] == [
        True
    ]
    assert set(ours.point_data) == set(theirs.point_data)
    assert all(np.array_equal(array, theirs.point_data[key]) for key, array in ours.point_data.items())


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize(("binary", "compression"), [(True, "zlib"), (True, None), (False, None)])
def test_every_way_the_library_writes_is_read(tmp_path: Path, binary: bool, compression: str | None) -> None:
    mesh = meshio.Mesh(POINTS, [("tetra", CELLS), ("triangle", [[0, 1, 2]])], point_data={"S": POINTS[:, 0]})
    meshio.vtu.write(tmp_path / "a.vtu", mesh, binary=binary, compression=compression)
    raw = read_vtu((tmp_path / "a.vtu").read_bytes())
    assert raw.points == pytest.approx(POINTS)
    assert [(kind, nodes.tolist()) for kind, nodes in raw.cells] == [("tet4", CELLS.tolist())]
    assert raw.other == {"triangles": 1}
    assert raw.point_data["S"].tolist() == POINTS[:, 0].tolist()


def packed(
    values: np.ndarray, *, raw: bool = False, zipped: bool = False, apart: bool = False, big: bool = False
) -> bytes:
    """One array as the format packs it: a header of sizes, then the data."""
    size = ">I" if big else "<I"
    content = values.astype(values.dtype.newbyteorder(">" if big else "<")).tobytes()
    if zipped:
        part = zlib.compress(content)
        head = struct.pack(f"{size[0]}4I", 1, len(content), len(content), len(part))
        return head + part if raw else base64.b64encode(head) + base64.b64encode(part)
    head = struct.pack(size, len(content))
    if raw:
        return head + content
    return base64.b64encode(head) + base64.b64encode(content) if apart else base64.b64encode(head + content)


def arrays() -> dict[str, np.ndarray]:
    return {
        "points": POINTS,
        "connectivity": CELLS.ravel().astype(np.int32),
        "offsets": np.array([4, 8], dtype=np.int32),
        "types": np.array([10, 10], dtype=np.uint8),
    }


def text(
    inner: dict[str, str], *, attributes: str = "", appended: bytes | None = None, cells: str = "2", points: str = "5"
) -> bytes:
    kinds = {"points": "Float64", "connectivity": "Int32", "offsets": "Int32", "types": "UInt8"}
    rows = {"points": ' NumberOfComponents="3"'}
    tags = {
        name: f'<DataArray Name="{name}" type="{kind}"{rows.get(name, "")} {inner[name]}</DataArray>'
        for name, kind in kinds.items()
        if name in inner
    }
    cell_tags = "".join(tag for name, tag in tags.items() if name != "points")
    head = (
        f'<?xml version="1.0"?><VTKFile type="UnstructuredGrid" version="0.1" {attributes}><UnstructuredGrid>'
        f'<Piece NumberOfPoints="{points}" NumberOfCells="{cells}"><Points>{tags["points"]}</Points>'
        f"<Cells>{cell_tags}</Cells></Piece></UnstructuredGrid>"
    ).encode()
    return head + (appended or b"") + b"</VTKFile>"


def ascii_parts() -> dict[str, str]:
    return {name: 'format="ascii">' + " ".join(map(repr, values.ravel().tolist())) for name, values in arrays().items()}


@pytest.mark.parametrize("zipped", [False, True])
@pytest.mark.parametrize("apart", [False, True])
@pytest.mark.parametrize("big", [False, True])
def test_binary_data_is_read_plain_and_compressed_in_either_byte_order(zipped: bool, apart: bool, big: bool) -> None:
    attributes = f'byte_order="{"BigEndian" if big else "LittleEndian"}"'
    attributes += ' compressor="vtkZLibDataCompressor"' if zipped else ""
    inner = {
        name: 'format="binary">' + packed(values, zipped=zipped, apart=apart, big=big).decode()
        for name, values in arrays().items()
    }
    raw = read_vtu(text(inner, attributes=attributes))
    assert raw.points.tolist() == POINTS.tolist()
    assert raw.cells[0][1].tolist() == CELLS.tolist()


@pytest.mark.parametrize("zipped", [False, True])
@pytest.mark.parametrize("encoding", ["raw", "base64"])
def test_appended_data_is_read_raw_and_as_base64(zipped: bool, encoding: str) -> None:
    content, inner = b"", {}
    for name, values in arrays().items():
        inner[name] = f'format="appended" offset="{len(content)}">'
        content += packed(values, raw=encoding == "raw", zipped=zipped)
    appended = f'<AppendedData encoding="{encoding}">\n _'.encode() + content + b"\n</AppendedData>"
    attributes = 'compressor="vtkZLibDataCompressor"' if zipped else ""
    raw = read_vtu(text(inner, attributes=attributes, appended=appended))
    assert raw.points.tolist() == POINTS.tolist()
    assert raw.cells[0][1].tolist() == CELLS.tolist()


DECLARED = '<?xml version="1.0" encoding="utf-16"?><!DOCTYPE VTKFile [<!ENTITY a "b">]><VTKFile>&a;</VTKFile>'


def refused(body: bytes, limit_bytes: int = 1 << 20) -> str:
    with pytest.raises(InputError) as error:
        read_vtu(body, limit_bytes)
    assert error.value.path == ("mesh",)
    return str(error.value)


def changed(name: str, content: str) -> bytes:
    return text({**ascii_parts(), name: content})


@pytest.mark.parametrize(
    ("body", "message"),
    [
        (b"", "it is empty, or ends too early"),
        (b"\x00\x01", "cut off"),
        (text(ascii_parts())[:-40], "cut off"),
        (b'<!DOCTYPE a [<!ENTITY x "y">]>' + text(ascii_parts())[21:], "entities"),
        (DECLARED.encode("utf-16"), "not UTF-8"),
        (DECLARED.encode("cp500"), "not UTF-8"),
        (DECLARED.replace("utf-16", "utf-8").encode(), "entities"),
        (b"<VTKFile/>", "no unstructured grid"),
        (b'<VTKFile type="UnstructuredGrid"/>', "0 UnstructuredGrid/Piece"),
        (text(ascii_parts(), points="4"), "NumberOfPoints rows"),
        (text(ascii_parts(), points="four"), "NumberOfPoints is no number"),
        (text(ascii_parts(), cells="3"), "NumberOfCells long"),
        (text({k: v for k, v in ascii_parts().items() if k != "types"}), "no types"),
        (changed("types", 'format="ascii">10 29'), "cells of type 29 are none of the solids"),
        (changed("types", 'format="ascii">10 12'), "has not 8 nodes"),
        (changed("types", 'format="ascii">10 ten'), "ten"),
        (changed("types", 'format="ascii">10 300'), "300"),
        (changed("offsets", 'format="ascii">8 4'), "contradict"),
        (changed("offsets", 'format="ascii">4 9'), "contradict"),
        (changed("connectivity", 'format="ascii">0 1 2 3 1 2 3 5'), "contradict"),
        (changed("points", 'format="ascii">0 1'), "no whole number of rows"),
        (changed("points", 'format="odd">0 1 2'), "data format 'odd'"),
        (changed("points", 'format="appended" offset="0">'), "data format 'appended'"),
        (changed("points", 'format="binary">AA'), "padding"),
        (changed("points", 'format="binary">'), "header is cut off"),
        (changed("points", 'format="binary">' + packed(POINTS).decode()[:24]), "cut off"),
        (changed("points", 'format="binary">' + packed(POINTS.ravel()[:1].astype("<f4")).decode()), "is cut off"),
        (text(ascii_parts()).replace(b"Float64", b"String"), "of type 'String'"),
        (text(ascii_parts()).replace(b"<Piece", b"<Piece/><Piece"), "write one piece"),
    ],
)
def test_what_is_no_mesh_is_refused_with_the_reason(body: bytes, message: str) -> None:
    assert message in refused(body)


def test_compressed_data_that_lies_about_its_size_takes_no_more_memory_than_announced() -> None:
    attributes = 'compressor="vtkZLibDataCompressor"'
    bomb = zlib.compress(bytes(50_000_000))

    def body(blocks: int, size: int, last: int, packed_size: int) -> bytes:
        head = struct.pack("<4I", blocks, size, last, packed_size)
        data = (base64.b64encode(head) + base64.b64encode(bomb)).decode()
        return text({**ascii_parts(), "points": 'format="binary">' + data}, attributes=attributes)

    assert "cut off" in refused(body(1, 120, 0, len(bomb)))
    assert "larger than the limit" in refused(body(1, 50_000_000, 0, len(bomb)))
    assert "cut off" in refused(body(1_000_000, 120, 0, len(bomb)))
    assert "cut off" in refused(body(1, 120, 0, len(bomb) + 100))
    crooked = text(
        {
            **ascii_parts(),
            "points": 'format="binary">'
            + (base64.b64encode(struct.pack("<4I", 1, 120, 0, 8)) + base64.b64encode(b"notzlib!")).decode(),
        },
        attributes=attributes,
    )
    assert "not a VTU file" in refused(crooked)
    assert "compressor" in refused(
        text(ascii_parts() | {"points": 'format="binary">AAAA'}, attributes='compressor="vtkLZ4DataCompressor"')
    )


def test_offsets_into_appended_data_must_be_numbers_within_it() -> None:
    appended = b'<AppendedData encoding="raw">_abc</AppendedData>'
    for offset, message in (("x", "offset"), ("99", "header is cut off")):
        inner = {**ascii_parts(), "points": f'format="appended" offset="{offset}">'}
        assert message in refused(text(inner, appended=appended))


def test_text_arrays_count_towards_the_limit() -> None:
    assert "larger than the limit" in refused(text(ascii_parts()), 100)
