"""Where on the part: hidden is what the part hides, colours are those of the stations, bytes are few and the same."""

from __future__ import annotations

import base64
import re
import struct
import time
import zlib
from functools import cache
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from fatcore.errors import InputError
from fatcore.stress.weld_lines.solid.detect import find_weld_lines
from fatcore.stress.weld_lines.solid.lines import SolidLine
from fatcore.stress.weld_lines.solid.mesh import solid_mesh
from fatcore.stress.weld_lines.solid.part import PartSurface, part_surface
from service.report.pictures.drawing.depth import SECTION, Cut, depth_buffer
from service.report.pictures.drawing.notes import callout, triad
from service.report.pictures.drawing.png import grey_png
from service.report.pictures.drawing.room import Room
from service.report.pictures.drawing.scene import shots
from service.report.pictures.drawing.section import section_outline
from service.report.pictures.drawing.strokes import divided, joined, path, runs, seen_segments, simplified
from service.report.pictures.drawing.view import FIRST_SIGHT, View, fitted, sight_words, sights
from service.report.pictures.drawing.welds import Drawn, drawn, weld_strokes
from service.report.pictures.palette import BOUNDS, STEPS, WIDTHS
from service.report.pictures.part import part_picture
from service.report.pictures.placed import Mark, PlacedLine, placed_lines
from tests.core.test_weld_lines_part import box
from tests.shapes.files import MODELS, model

MOST_BYTES = 150_000
CUBE = np.array([[x, y, z] for z in (0.0, 10.0) for x, y in ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))])


@cache
def part_of(name: str) -> PartSurface:
    return part_surface(model(name))


@cache
def lines_of(name: str) -> tuple[SolidLine, ...]:
    return find_weld_lines(model(name)).lines


@cache
def cube() -> PartSurface:
    return part_surface(solid_mesh(CUBE, [("brick8", np.arange(8)[np.newaxis])]))


def seen(part: PartSurface, sight: Any = FIRST_SIGHT) -> tuple[View, Any]:
    view = fitted(sight, part.points_mm, (400, 400), 20)
    return view, depth_buffer(view, view.project(part.points_mm), part.triangles)


def line(points: Any, used: Any = None, **changes: Any) -> PlacedLine:
    """A line with invented utilisation; judged everywhere, open."""
    at = np.array(points, dtype=float)
    given = {
        "name": "toe",
        "closed": False,
        "utilisation": None if used is None else np.broadcast_to(np.array(used, dtype=float), len(at)),
        "judged": np.ones(len(at), dtype=bool),
    }
    return PlacedLine(coordinates_mm=at, **{**given, **changes})


def invented(name: str, governing: int) -> tuple[list[PlacedLine], Mark]:
    """The lines of a model with waves of utilisation, the largest 1.07 on one line; ends of some not judged."""
    made = []
    for k, found in enumerate(lines_of(name)):
        count = len(found.coordinates_mm)
        used = 0.2 + 0.6 * np.abs(np.sin(np.linspace(0.0, 3.0, count) + k))
        judged = np.ones(count, dtype=bool)
        judged[: count // 6 if k % 2 else 0] = False
        used = used + (1.07 - used.max()) if k == governing else used
        made.append(line(found.coordinates_mm, used, name=found.name, closed=found.closed, judged=judged))
    assert made[governing].utilisation is not None
    station = int(np.argmax(made[governing].utilisation))
    return made, Mark(line=governing, station=station, words=(made[governing].name, "utilisation 1.07", "node 7"))


def pixels(content: bytes) -> NDArray[np.uint8]:
    """Grey values of a PNG, read by the format's rules."""
    assert content[:8] == b"\x89PNG\r\n\x1a\n"
    at, parts = 8, {}
    while at < len(content):
        (size,), kind = struct.unpack(">I", content[at : at + 4]), content[at + 4 : at + 8]
        body = content[at + 8 : at + 8 + size]
        assert struct.unpack(">I", content[at + 8 + size : at + 12 + size])[0] == zlib.crc32(kind + body)
        parts[kind], at = body, at + 12 + size
    width, height, depth, colour = struct.unpack(">IIBB", parts[b"IHDR"][:10])
    assert (depth, colour, list(parts)[-1]) == (8, 0, b"IEND")
    rows = np.frombuffer(zlib.decompress(parts[b"IDAT"]), dtype=np.uint8).reshape(height, width + 1)
    assert not rows[:, 0].any()
    return rows[:, 1:]


def texts(svg: str) -> list[str]:
    return [each.text or "" for each in ElementTree.fromstring(svg).iter() if each.tag.endswith("}text")]


# the depth buffer


def test_a_cube_shows_nine_of_its_twelve_edges_and_seven_corners() -> None:
    view, depth = seen(cube())
    corners = depth.sees(view.project(CUBE))
    assert CUBE[~corners].tolist() == [[0.0, 10.0, 0.0]]  # the far one, seen from +x -y +z
    ends = view.project(cube().points_mm)[cube().feature_edges(FIRST_SIGHT)]
    kept = seen_segments(ends, depth.sees)
    assert len(ends) == 12
    length = np.linalg.norm((ends[:, 1] - ends[:, 0])[:, :2], axis=1)
    assert len(kept) == 9
    hidden = [k for k in range(12) if not depth.sees(ends[k].mean(axis=0)[np.newaxis])[0]]
    assert np.linalg.norm((kept[:, 1] - kept[:, 0])[:, :2], axis=1).sum() == pytest.approx(
        length.sum() - length[hidden].sum(), abs=0.1
    )


def test_depth_is_that_of_the_nearest_face_and_nothing_is_outside() -> None:
    view, depth = seen(cube(), [0.0, 0.0, 1.0])
    middle = view.project(np.array([[5.0, 5.0, 10.0]]))[0]
    assert depth.depth_px[int(middle[1]), int(middle[0])] == pytest.approx(middle[2])
    assert depth.depth_px[0, 0] == -np.inf
    assert (depth.shades()[0, 0], depth.shades().min()) == (255, depth.shades()[int(middle[1]), int(middle[0])])
    below = view.project(np.array([[5.0, 5.0, 0.0], [5.0, 5.0, 10.0], [500.0, 5.0, 10.0]]))
    assert depth.sees(below).tolist() == [False, True, False]


@pytest.mark.parametrize("sight", [each for group in sights() for each in group])
def test_every_pixel_of_a_cube_is_filled_and_none_beside_it(sight: Any) -> None:
    view, depth = seen(cube(), sight)
    corners = view.project(CUBE)[:, :2]
    rows, columns = np.indices(depth.depth_px.shape)
    at = np.stack([columns + 0.5, rows + 0.5], axis=-1).reshape(-1, 2)
    hull = corners[_hull(corners)]
    side = np.roll(hull, -1, axis=0) - hull
    away = at[:, np.newaxis] - hull
    inside = (side[:, 0] * away[:, :, 1] - side[:, 1] * away[:, :, 0] > 1e-6).all(axis=1)
    outside = (side[:, 0] * away[:, :, 1] - side[:, 1] * away[:, :, 0] < -1e-6).any(axis=1)
    filled = np.isfinite(depth.depth_px).ravel()
    assert filled[inside].all()
    assert not filled[outside].any()


def _hull(points: NDArray[np.float64]) -> NDArray[np.intp]:
    return np.asarray(ConvexHull(points).vertices)


def test_a_cut_cube_shows_its_inside_as_section_at_the_plane() -> None:
    view = fitted([1.0, -0.5, 0.5], CUBE, (300, 300), 20)
    normal = np.array([1.0, 0.0, 0.0])
    cut = Cut(view.project(np.array([[4.0, 5.0, 5.0]]))[0], view.axes @ normal)
    depth = depth_buffer(view, view.project(cube().points_mm), cube().triangles, cut)
    on = view.project(np.array([[4.0, 5.0, 5.0], [2.0, 0.0, 5.0], [2.0, 5.0, 5.0]]))
    column, row = on[:, 0].astype(int), on[:, 1].astype(int)
    assert depth.face[row[0], column[0]] == SECTION
    assert depth.face[row[1], column[1]] >= 0  # the side that is left
    assert depth.sees(on).tolist() == [True, True, False]
    assert len(np.unique(depth.shades()[depth.face == SECTION])) == 2  # hatched


def test_the_outline_of_a_cut_cube_is_a_square_in_the_plane() -> None:
    view = fitted([1.0, -0.5, 0.5], CUBE, (300, 300), 20)
    cut = Cut(view.project(np.array([[4.0, 5.0, 5.0]]))[0], view.axes @ np.array([1.0, 0.0, 0.0]))
    ends = section_outline(view.project(cube().points_mm), cube().triangles, cut)
    assert np.abs((ends - cut.point_px) @ cut.normal).max() < 1e-6
    assert np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1).sum() == pytest.approx(4.0 * 10.0 * view.scale)


def test_a_png_holds_its_grey_values() -> None:
    given = np.arange(12, dtype=np.uint8).reshape(3, 4) * 20
    assert (pixels(grey_png(given)) == given).all()


# strokes


def test_segments_that_meet_become_one_line_without_points_on_the_way() -> None:
    parts = [np.array(each) for each in ([[0, 0], [1, 0]], [[2, 0], [1, 0]], [[2, 0], [2, 5]], [[9, 9], [9.01, 9]])]
    (whole,) = joined(parts)
    assert simplified(whole) in ([(0, 0), (2, 0), (2, 5)], [(2, 5), (2, 0), (0, 0)])
    assert path(joined(parts)) in ("M0 0l2 0 0 5", "M2 5l0 -5 -2 0")


def test_a_ring_of_segments_is_one_line() -> None:
    corners = np.array([[0, 0], [5, 0], [5, 5], [0, 5]], dtype=float)
    assert len(joined(np.stack([corners, np.roll(corners, -1, axis=0)], axis=1))) == 1


def test_numbers_of_a_path_are_short_and_never_a_negative_nothing() -> None:
    assert path([[(0.5, -0.25), (0.5, 0.0), (-0.04, 0.04)]]) == "M.5 -.2l-.5 .3"


def test_a_divided_line_keeps_its_corners_and_knows_their_segments() -> None:
    fine, owner = divided(np.array([[0.0, 0.0, 0.0], [9.0, 0.0, 3.0], [9.0, 1.0, 0.0]]))
    assert fine[:, 0].tolist() == [0.0, 3.0, 6.0, 9.0, 9.0]
    assert owner.tolist() == [0, 0, 0, 1, 1]
    assert runs(owner) == [(0, 2), (3, 4)]


# weld lines


def shown(given: PlacedLine, depth: Any = None, cut: Cut | None = None) -> Drawn:
    view = fitted(FIRST_SIGHT, given.coordinates_mm, (400, 400), 20)
    return drawn(given, view, depth, cut)


@pytest.mark.parametrize(
    ("used", "step"), [(0.0, 0), (0.25, 0), (0.26, 1), (0.9, 4), (1.0, 5), (1.000001, 6), (9.0, 7)]
)
def test_the_limit_itself_is_not_beyond_it(used: float, step: int) -> None:
    weld = shown(line([[0, 0, 0], [1, 0, 0]], used))
    assert set(weld.step) == {step}
    rim = f'stroke="{"#000" if used > 1.0 else "#fff"}" stroke-width="{WIDTHS[step] + 2.4:g}"'
    assert rim in weld_strokes([weld])
    assert f'stroke="{STEPS[step]}" stroke-width="{WIDTHS[step]:g}"' in weld_strokes([weld])


def test_half_of_the_way_to_its_neighbours_belongs_to_a_station() -> None:
    weld = shown(line([[0, 0, 0], [10, 0, 0], [20, 0, 0]], [0.1, 1.1, 0.1]))
    length = np.linalg.norm(np.diff(weld.points_px, axis=0), axis=1)
    assert length[weld.step == 6].sum() == pytest.approx(length.sum() / 2.0)


def test_a_loop_is_closed_and_a_line_of_one_station_is_a_dot() -> None:
    square = [[0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]]
    way = shown(line(square, 0.5, closed=True)).points_px
    assert way[-1] == pytest.approx(way[0])
    assert "<circle" in weld_strokes([shown(line([[1, 2, 3]], 0.95))])


def test_unjudged_and_hidden_parts_have_strokes_of_their_own() -> None:
    judged = np.array([True, True, False, False])
    way = [[-1, 10.5, 5], [4, 10.5, 5], [6, 10.5, 5], [11, 10.5, 5]]  # behind the cube
    view, depth = seen(cube())
    inside = line(np.array(way) * [0.5, 1, 1] + [2, 0, 0], 0.6, judged=judged)
    markup = weld_strokes([drawn(inside, view, depth, None), shown(line(way, 0.6, judged=judged))])
    for dash in ('"6 3.5"', '"1.6 5"', '"1.6 2.6"'):
        assert f"stroke-dasharray={dash}" in markup
    assert f'stroke="{STEPS[2]}" stroke-width="{WIDTHS[2]:g}"/>' in markup


def test_of_stations_too_dense_to_draw_the_worst_judged_one_counts() -> None:
    points = np.column_stack([np.linspace(0.0, 100.0, 20_000), np.zeros(20_000), np.zeros(20_000)])
    used, judged = np.full(20_000, 0.3), np.ones(20_000, dtype=bool)
    used[7_000], used[12_000], judged[12_000] = 1.3, 1.3, False
    weld = shown(line(points, used, judged=judged))
    assert len(weld.step) < 1000
    assert np.flatnonzero(np.diff((weld.step == 7).astype(int)) == 1).size == 1
    assert weld.judged.all()
    assert weld.points_px[[0, -1]] == pytest.approx(
        fitted(FIRST_SIGHT, points, (400, 400), 20).project(points[[0, -1]])
    )


# views


def test_a_view_is_upright_and_holds_its_points() -> None:
    for sight in (FIRST_SIGHT, [0.0, 0.0, 1.0], [0.2, 1.0, 0.0]):
        view = fitted(sight, CUBE, (500, 300), 30)
        assert view.axes @ view.axes.T == pytest.approx(np.eye(3), abs=1e-12)
        assert np.linalg.det(view.axes * [[1], [-1], [1]]) == pytest.approx(1.0)
        places = view.project(CUBE)
        assert view.holds(places).all()
        assert places[:, :2].min() >= 30.0 - 1.0
        assert view.height_px <= 300
    up = fitted(FIRST_SIGHT, CUBE, (500, 300), 30).axes[1]
    assert up[2] < 0.0  # y of the picture runs down


def test_a_view_is_named_by_where_it_looks_from() -> None:
    assert sight_words(np.array(FIRST_SIGHT)) == "+x −y +z"
    assert len([each for group in sights() for each in group]) == 14


def test_a_point_that_is_seen_needs_one_view() -> None:
    ahead = line([[0, 0, 10], [10, 0, 10]], [0.5, 0.9])
    assert len(shots([ahead], cube(), Mark(line=0, station=1, words=("toe",)))) == 1
    assert len(shots([ahead], cube(), None)) == 1
    assert len(shots([ahead], None, Mark(line=0, station=1, words=("toe",)))) == 1


def test_a_hidden_point_is_shown_from_a_corner_that_sees_it() -> None:
    behind = line([[0, 10, 0], [0, 10, 4], [0, 10, 10]], 0.9)
    first, second = shots([behind], cube(), Mark(line=0, station=1, words=("toe",)))
    at = np.array([[0.0, 10.0, 4.0]])
    assert first.depth is not None
    assert second.depth is not None
    assert not first.depth.sees(first.view.project(at))[0]
    assert second.depth.sees(second.view.project(at))[0]
    assert second.title.startswith("turned to the governing point: from −x +y")


def test_a_point_below_a_deep_floor_is_shown_along_an_axis() -> None:
    """A pit of 10 mm in a block of 30 mm, 15 mm deep: its floor is seen from nearly straight above only."""
    steps = np.arange(4) * 10.0
    heights = np.array([0.0, 10.0, 25.0])
    points = np.array([[x, y, z] for z in heights for y in steps for x in steps])
    cells = [(i, j, k) for k in range(2) for j in range(3) for i in range(3) if (i, j, k) != (1, 1, 1)]
    base = np.array([i + 4 * (j + 4 * k) for i, j, k in cells])
    bricks = base[:, np.newaxis] + np.array([0, 1, 5, 4, 16, 17, 21, 20])
    pit = part_surface(solid_mesh(points, [("brick8", bricks)]))
    floor = line([[14.0, 15.0, 10.0], [16.0, 15.0, 10.0]], 0.9)
    _, second = shots([floor], pit, Mark(line=0, station=0, words=("toe",)))
    assert second.view.sight[2] > 0.9
    assert second.view.scale > 2.0 * fitted(second.view.sight, pit.points_mm, (720, 380), 40).scale  # and nearer


def test_a_root_inside_is_shown_by_a_cut_square_to_its_line() -> None:
    made, mark = invented("stiffener-tet10-half", 2)
    assert made[2].name == "root-1"
    _, second = shots(made, part_of("stiffener-tet10-half"), mark)
    assert second.cut is not None
    assert second.depth is not None
    point = made[2].coordinates_mm[mark.station]
    assert second.depth.sees(second.view.project(point[np.newaxis]))[0]
    normal = second.view.axes.T @ second.cut.normal
    assert abs(normal[0]) == pytest.approx(1.0, abs=1e-6)  # the root runs along x
    assert (second.depth.face == SECTION).sum() > 5000


def test_a_single_station_inside_is_cut_across_the_sight() -> None:
    lone = line([[5.0, 5.0, 5.0]], 0.5)
    _, second = shots([lone], cube(), Mark(line=0, station=0, words=("spot",)))
    assert second.cut is not None
    assert second.cut.normal == pytest.approx([0.0, 0.0, 1.0])


@pytest.mark.parametrize(("closed", "station", "normal"), [(True, 0, [1.0, -1.0, 0.0]), (False, 3, [1.0, 0.0, 0.0])])
def test_the_cut_is_square_to_the_chord_of_the_neighbours(closed: bool, station: int, normal: list[float]) -> None:
    ring = line([[4, 4, 5], [6, 4, 5], [6, 6, 5], [4, 6, 5]], 0.5, closed=closed)
    _, second = shots([ring], cube(), Mark(line=0, station=station, words=("root",)))
    assert second.cut is not None
    found = second.view.axes.T @ second.cut.normal
    assert abs(found @ normal) == pytest.approx(np.linalg.norm(normal))


def test_a_line_across_the_picture_leaves_room_for_its_label() -> None:
    flat = line([[0, 0, 0], [13, 10, 0]], 0.5)
    svg = part_picture([flat], mark=Mark(line=0, station=0, words=("toe", "utilisation 0.5", "0 mm")))
    box = re.search(r'<rect x="([\d.]+)" y="([\d.]+)" width="[\d.]+" height="([\d.]+)" rx', svg)
    assert box
    assert shots([flat], None, None)[0].view.height_px >= float(box[2]) + float(box[3])


def test_a_line_small_against_the_part_is_shown_again_from_nearer() -> None:
    short = line([[10, 0, 5], [10, 0, 6]], 0.9)
    first, second = shots([short], cube(), Mark(line=0, station=0, words=("toe",)))
    assert second.title.startswith("closer to the governing point")
    assert second.view.scale > 2.0 * first.view.scale


# the whole picture


@pytest.mark.uncounted
@pytest.mark.parametrize("name", MODELS)
def test_pictures_of_the_models_are_small_well_formed_and_the_same_each_time(name: str) -> None:
    for governing in range(len(lines_of(name))):
        made, mark = invented(name, governing)
        svg = part_picture(made, part_of(name), mark=mark)
        assert len(svg.encode()) < MOST_BYTES
        root = ElementTree.fromstring(svg)
        assert root.tag == "{http://www.w3.org/2000/svg}svg"
        assert svg == part_picture(made, part_of(name), mark=mark)
        drawn_numbers = re.sub(r'href="[^"]*"', "", svg)
        assert not re.search(r"\b(nan|inf)\b", drawn_numbers)
        found = texts(svg)
        assert all(words in found for words in mark.words)
        assert "limit" in found
        assert all(f"{bound:g}" in found for bound in BOUNDS)
        assert {"x", "y", "z"} <= set(found)


@pytest.mark.parametrize("name", MODELS)
def test_the_marked_station_has_its_ring_at_its_place(name: str) -> None:
    made, mark = invented(name, 0)
    svg = part_picture(made, part_of(name), mark=mark)
    view = shots(made, part_of(name), mark)[0].view
    x, y, _ = view.project(made[0].coordinates_mm[mark.station][np.newaxis])[0]
    assert f'<circle cx="{x:.1f}" cy="{y:.1f}" r="9"' in svg


def test_the_picture_of_a_real_model_takes_at_most_a_second(capsys: pytest.CaptureFixture[str]) -> None:
    mesh = model("stiffener-tet10")
    made, mark = invented("stiffener-tet10", 2)
    taken = []
    for _ in range(3):
        start = time.process_time()
        svg = part_picture(made, part_surface(mesh), mark=mark)
        taken.append(time.process_time() - start)
    with capsys.disabled():
        print(f"\nstiffener-tet10, two views: {min(taken):.2f} s, {len(svg) / 1000:.0f} kB")
    assert min(taken) < 1.0


def test_the_grey_picture_inside_is_a_png_of_the_view() -> None:
    made, mark = invented("stiffener-hex8", 0)
    svg = part_picture(made, part_of("stiffener-hex8"), mark=mark)
    data = re.findall(r'<image width="(\d+)" height="(\d+)" href="data:image/png;base64,([^"]*)"', svg)
    assert data
    for width, height, content in data:
        grey = pixels(base64.b64decode(content))
        assert grey.shape == (int(height), int(width))
        assert grey.max() == 255
        assert grey.min() >= 140


def test_lines_without_a_part_are_drawn_in_their_box() -> None:
    made, mark = invented("stiffener-hex8", 0)
    svg = part_picture(made, mark=mark, remarks=["not drawn: nothing"])
    assert "<image" not in svg
    assert "not drawn: nothing" in texts(svg)
    assert "hidden by the part" not in texts(svg)
    assert any(each.startswith("lines:") for each in texts(svg))


def test_lines_that_were_only_found_have_no_scale_and_no_mark() -> None:
    svg = part_picture(placed_lines(lines_of("stiffener-tet10")), part_of("stiffener-tet10"))
    found = texts(svg)
    assert "utilisation" not in found
    assert "governing point" not in found
    assert {each.name for each in lines_of("stiffener-tet10")} <= set(found)
    assert len(svg.encode()) < MOST_BYTES


def test_names_cannot_become_markup() -> None:
    hostile = "<script>alert(1)</script>\"'&\x00\ud800"
    given = line([[0, 0, 0], [10, 0, 0]], 0.5, name=hostile)
    other = line([[0, 5, 0], [10, 5, 0]], 0.5, name=hostile)
    svg = part_picture([given, other], mark=Mark(line=0, station=0, words=(hostile,)), remarks=[hostile])
    assert "<script" not in svg
    assert any(each.endswith("\\x00\\ud800") for each in texts(svg))
    svg.encode()


def test_texts_of_any_length_and_letters_stay_inside() -> None:
    words = ("溶接" * 100, "x" * 500)
    svg = part_picture([line([[0, 0, 0], [10, 0, 0]], 0.5, name="y" * 300)], mark=Mark(line=0, station=0, words=words))
    assert max(map(len, texts(svg))) < 60
    box = re.search(r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)"', svg)
    assert box
    assert float(box[1]) + float(box[3]) <= 720.0


def test_crowded_names_are_left_out_rather_than_put_on_each_other() -> None:
    many = [line([[0, 0.01 * k, 0], [10, 0.01 * k, 0]], 0.01 * k, name=f"line number {k}") for k in range(60)]
    found = texts(part_picture(many))
    assert 0 < len([each for each in set(found) if each.startswith("line number")]) < 60


def test_an_axis_seen_along_itself_is_not_drawn() -> None:
    view = fitted([0.0, 0.0, 1.0], CUBE, (400, 400), 20)
    markup = triad(view, Room(np.zeros((view.height_px, view.width_px))))
    assert [each for each in "xyz" if f">{each}</text>" in markup] == ["x", "y"]


def test_a_label_that_finds_room_only_over_its_point_needs_no_line_to_it() -> None:
    room = Room(np.zeros((110, 200)))
    assert "<path" not in callout((100.0, 55.0), ["governing", "utilisation 1.07, station 12"], room)
    assert "<path" in callout((10.0, 300.0), ["governing"], Room(np.zeros((400, 400))))


def test_lines_longer_than_the_picture_can_hold_stay_few_bytes() -> None:
    numbers = np.random.default_rng(7)
    wild = [line(np.cumsum(numbers.normal(size=(20_000, 3)), axis=0), numbers.uniform(0.0, 1.4, 20_000)) for _ in "abc"]
    svg = part_picture(wild)
    assert len(svg.encode()) < 400_000
    assert f'stroke="{STEPS[7]}"' in svg


@pytest.mark.parametrize("factor", [0.001, 25.4])
def test_lines_of_another_length_unit_than_the_mesh_are_refused(factor: float) -> None:
    made, _ = invented("stiffener-hex8", 0)
    moved = [line(each.coordinates_mm * factor + 100.0, 0.5) for each in made]
    with pytest.raises(InputError, match="lies outside of the mesh or deep inside it"):
        part_picture(moved, part_of("stiffener-hex8"))


def test_a_line_deep_inside_a_fine_mesh_is_on_another_part() -> None:
    fine = part_surface(box((4, 4, 4), 2.5))
    with pytest.raises(InputError, match="deep inside"):
        part_picture([line([[5.0, 5.0, 4.0], [5.0, 5.0, 6.0]], 0.5)], fine)
    assert "<svg" in part_picture([line([[0.0, 0.0, 5.0], [0.0, 1.3, 5.0]], 0.5)], fine)
