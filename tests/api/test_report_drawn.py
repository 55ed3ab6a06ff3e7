"""What the pictures of reports draw is what their answers say: coordinates are read back from the markup."""

from __future__ import annotations

import copy
import math
import re
from typing import Any

import numpy as np
import pytest

from service.base.envelope import evaluate
from service.report import levels
from service.report.governing import governing_cycles
from service.report.pictures.growth import milestones
from service.report.pictures.lines import MOST_STATIONS, drawn_stations
from service.report.pictures.palette import AMBER, BLACK, BLUE, GREY, VERMILION
from service.report.pictures.style import LEVELS
from service.report.renderers import render
from service.topics.check.models import CheckRequest
from service.topics.registry import find
from tests.api.drawn_axes import Panel, Points, panels, pictures
from tests.api.report_pages import HOSTILE, OWN_CURVE, Balanced, example, toe

PX = 0.02  # two digits stand behind the point in the markup
WHITE = "#ffffff"


def made(request: Any, route: str = "check") -> tuple[Any, dict[str, Any], str]:
    """Request as read, answer, page."""
    calculation = find(route)
    assert calculation is not None
    found = evaluate(calculation, request)
    envelope = found.envelope()
    return found.request, envelope["answer"], render(route, found.request, envelope)


def agree(panel: Panel, to_value: Any, drawn_px: Points, values: Any) -> None:
    """Drawn heights agree with values to what two digits of the markup can hold."""
    unit = abs(float(to_value(np.array([0.0]))[0] - to_value(np.array([1.0]))[0]))
    np.testing.assert_allclose(to_value(drawn_px), values, rtol=0.0, atol=3.0 * PX * unit)
    assert panel.high - PX <= drawn_px.min()
    assert drawn_px.max() <= panel.low + PX


def long_line(stations: int, peak: Any, **more: Any) -> dict[str, Any]:
    line = copy.deepcopy(toe()["lines"][0])
    opening = [float(peak(k)) for k in range(stations)]
    cases = {"pull": {"peaks_mpa": {"opening": opening, "tearing": [3.0] * stations}}}
    return {**line, "position_mm": [float(k) for k in range(stations)], "cases": cases, **more}


def blocks(count: int) -> dict[str, Any]:
    given = [{"factors": {"pull": {"maximum": 1.0 + 0.2 * k, "minimum": 0.0}}, "cycles": 10.0**k} for k in range(count)]
    return {"kind": "blocks", "blocks": given, "transitions": "in-entries"}


# along the lines


@pytest.fixture(scope="module")
def bracket() -> tuple[Any, dict[str, Any], dict[str, str]]:
    request, answer, page = made(example("check/bracket-hanger"))
    return request, answer, pictures(page)


def picture_of(drawn: dict[str, str], line: str) -> list[Panel]:
    (svg,) = (svg for name, svg in drawn.items() if name.startswith(f"{line}: "))
    return panels(svg)


@pytest.mark.parametrize("name", ["R2N_toe_plate", "R1P_root"])
def test_utilisation_range_and_ratio_of_every_station_stand_at_their_places(bracket: Any, name: str) -> None:
    _, answer, drawn = bracket
    (line,) = (each for each in answer["lines"] if each["name"] == name)
    position, judged = np.array(line["position_mm"]), np.array(line["judged"])
    used, ranges, ratio = picture_of(drawn, name)
    along = ratio.across()
    for panel, key in ((used, "utilisation"), (ranges, "equivalent_stress_mpa")):
        up, values = panel.up(), np.array(line[key])
        (curve,) = panel.lines(BLUE)
        agree(panel, up, curve[:, 1], values)
        np.testing.assert_allclose(along(curve[:, 0]), position, atol=0.02)
        agree(panel, up, panel.marks(WHITE)[:, 1], values[~judged])
        np.testing.assert_allclose(along(panel.marks(WHITE)[:, 0]), position[~judged], atol=0.02)
        ((x, y),) = panel.marks(AMBER)
        assert along(np.array([x]))[0] == pytest.approx(position[line["governing_index"]], abs=0.02)
        agree(panel, up, np.array([y]), values[line["governing_index"]])
    (limit,) = used.lines(VERMILION)
    agree(used, used.up(), limit[:, 1], 1.0)
    (curve,) = ratio.lines(BLUE)
    values = np.array(line["biaxiality_ratio"])
    beyond = values > 0.01  # the axis is logarithmic there
    np.testing.assert_allclose(ratio.up(log=True)(curve[beyond, 1]), values[beyond], rtol=0.02)


def test_light_curves_are_the_ranges_of_the_blocks_that_the_verdict_counts(bracket: Any) -> None:
    request, answer, drawn = bracket
    point = answer["governing"]
    index = [line.name for line in request.lines].index(point["line"])
    ranges = picture_of(drawn, point["line"])[1]
    curves = [ranges.lines(look["color"])[0] for look in LEVELS]
    for station in (0, point["index"], 20):
        cycles = governing_cycles(request, index, station, answer["curve"])
        for curve, own in zip(curves, cycles.range_mpa[: len(curves)], strict=True):
            agree(ranges, ranges.up(), curve[station : station + 1, 1], own)
    largest = ranges.lines(BLUE)[0][:, 1]
    assert all((curve[:, 1] >= largest - PX).all() for curve in curves)  # px grow downwards


def test_the_legend_names_the_blocks(bracket: Any) -> None:
    _, answer, drawn = bracket
    (svg,) = (svg for name, svg in drawn.items() if name.startswith(answer["governing"]["line"]))
    assert all(f">{name}</text>" in svg for name in ("1 field", "2 headland", "3 road", "largest"))
    assert "1 field: up to" in svg


def by_hand(ranges: Any, counts: Any, share: float) -> float:
    """Range that a share of the cycles reaches, one by one from the largest."""
    reached = 0.0
    for value, count in sorted(zip(ranges, counts, strict=True), reverse=True):
        reached += count
        if reached >= share * float(sum(counts)) * (1.0 - 1e-9):
            return float(value)
    return 0.0


@pytest.mark.parametrize(
    "loading",
    [
        blocks(5),
        {
            "kind": "history",
            "channels": {"pull": [math.sin(0.7 * k) * (1.0 + 0.5 * math.sin(0.13 * k)) for k in range(400)]},
        },
    ],
    ids=["five blocks", "history"],
)
def test_of_many_cycles_the_ranges_that_a_share_reaches_are_drawn(loading: dict[str, Any]) -> None:
    target = {"damage_limit": 0.5}
    request, answer, page = made(toe(lines=[long_line(9, lambda k: 30 + k)], loading=loading, target=target))
    assert isinstance(request, CheckRequest)
    found = levels.line_levels(request, {0: np.arange(9)})[0]
    assert found.names == ("1 % of cycles", "10 % of cycles", "50 % of cycles")
    (svg,) = (svg for name, svg in pictures(page).items() if name.startswith("toe: "))
    ranges = panels(svg)[1]
    for row, share in enumerate(levels.SHARES):
        (curve,) = ranges.lines(LEVELS[row]["color"])
        for at, station in enumerate(found.stations):
            cycles = governing_cycles(request, 0, int(station), answer["curve"])
            own = by_hand(cycles.range_mpa, cycles.count, share)
            assert found.range_mpa[row, at] == pytest.approx(own, rel=1e-12)
            agree(ranges, ranges.up(), curve[at : at + 1, 1], own)


def test_stations_of_long_records_are_not_counted_twice_without_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(levels, "_MOST_SAMPLES", 40)
    loading = {"kind": "history", "channels": {"pull": [0.0, 1.0, 0.2, 0.9]}}
    request, _, page = made(toe(lines=[long_line(30, lambda k: 30 + k)], loading=loading, target={"damage_limit": 0.5}))
    assert levels.line_levels(request, {0: np.arange(30)})[0].stations.tolist() == [0, 3, 6, 10, 13, 16, 19, 23, 26, 29]
    monkeypatch.setattr(levels, "_MOST_SAMPLES", 4)
    _, _, without = made(toe(lines=[long_line(30, lambda k: 30 + k)], loading=loading, target={"damage_limit": 0.5}))
    assert [text.count("% of cycles</text>") for text in (page, without)] == [3, 0]


def test_no_share_of_no_cycles_reaches_anything() -> None:
    assert levels.reached_ranges(np.zeros(1), np.zeros(1)).tolist() == [0.0, 0.0, 0.0]


def test_of_two_thousand_stations_the_largest_of_each_stretch_are_drawn_and_the_page_says_so() -> None:
    line = long_line(2000, lambda k: 90.0 if k == 777 else 30.0 + 5.0 * math.sin(k / 9.0))
    _, answer, page = made(toe(lines=[line], loading=blocks(3)))
    (answered,) = answer["lines"]
    shown = drawn_stations(answered)
    assert len(shown) <= MOST_STATIONS
    assert {0, 777, 1999} <= set(shown.tolist())
    used = np.array(answered["utilisation"])
    stretches = np.array_split(used, MOST_STATIONS // 2 - 2)
    assert {float(part.max()) for part in stretches} <= set(used[shown].tolist())
    assert f"Of lines of more than {MOST_STATIONS} stations the largest and the least" in Balanced(page).text
    (svg,) = (svg for name, svg in pictures(page).items() if name.startswith("toe: "))
    assert f"{len(shown)} of 2000 stations are drawn, the largest of each stretch" in svg
    assert len(svg) < 40_000
    ((_, y),) = panels(svg)[0].marks(AMBER)
    agree(panels(svg)[0], panels(svg)[0].up(), np.array([y]), used[777])


@pytest.mark.uncounted
def test_a_check_of_sixty_lines_keeps_its_pictures_small() -> None:
    lines = [long_line(40, lambda k: 30 + k, name=f"{k} {HOSTILE}") for k in range(60)]
    _, _, page = made(toe(lines=lines, loading=blocks(3)))
    assert "the other 36 are in the table" in page
    assert len(page) < 900_000
    assert max(map(len, pictures(page).values())) < 40_000
    assert "script" not in Balanced(page).names


@pytest.mark.parametrize("size", [0.0, 1e-5, 1e7])
def test_pictures_of_the_smallest_and_the_largest_stresses_have_one_notation(size: float) -> None:
    _, answer, page = made(toe(lines=[long_line(20, lambda k: size * (1 + k))], loading=blocks(3)))
    (svg,) = (svg for name, svg in pictures(page).items() if name.startswith("toe: "))
    used, ranges, _ = panels(svg)
    (line,) = answer["lines"]
    if size > 1.0:  # logarithmic above the limit, which is still to be seen
        (curve,) = used.lines(BLUE)
        np.testing.assert_allclose(used.up(log=True)(curve[:, 1]), line["utilisation"], rtol=0.02)
        assert "range [10⁶ MPa]" in svg
        (limit,) = used.lines(VERMILION)
        assert used.low - limit[0, 1] > 2.0
    else:
        agree(used, used.up(), used.lines(BLUE)[0][:, 1], line["utilisation"])
    factor = 1e6 if size > 1.0 else 1.0
    agree(ranges, ranges.up(), ranges.lines(BLUE)[0][:, 1], np.array(line["equivalent_stress_mpa"]) / factor)


# growth


@pytest.mark.parametrize("name", ["growth-surface-blocks", "growth-bracket-toe-shared", "growth-tabled"])
def test_sizes_and_drives_of_a_crack_stand_at_their_cycles(name: str) -> None:
    _, answer, page = made(example(f"cracks/{name}"), "cracks/growth")
    history = answer["history"]
    sizes, drives = (panels(svg) for svg in pictures(page).values())
    shown = [(sizes[0], BLUE, history["depth_mm"]), (drives[0], BLUE, history["delta_k_deepest_mpa_sqrt_mm"])]
    shown += [
        (sizes[0], VERMILION, history["half_length_mm"]),
        (drives[0], VERMILION, history["delta_k_surface_mpa_sqrt_mm"]),
    ]
    if history["load_share"]:
        shown += [(drives[1], BLUE, 100.0 * np.array(history["load_share"]))]
        shown += [(drives[1], VERMILION, 100.0 * np.array(history["stiffness_ratio"]))]
    power = 1e6 if answer["life_cycles"] >= 1e6 else 1e3
    for panel, colour, values in shown:
        lines = panel.lines(colour)
        assert len(lines) == (values is not None)
        for line in lines:
            cycles = (sizes[-1] if panel is sizes[0] else drives[-1]).across()(line[:, 0]) * power
            expected = np.interp(cycles, history["elapsed_cycles"], values)
            steep = np.abs(np.interp(cycles * (1.0 + 2e-4), history["elapsed_cycles"], values) - expected)
            up = panel.up()
            unit = abs(float(up(np.array([0.0]))[0] - up(np.array([1.0]))[0]))
            wall = np.abs(cycles - cycles[np.argmax(np.abs(np.diff(line[:, 1])))]) < 2e-3 * cycles[-1]
            near = np.abs(up(line[:, 1]) - expected) <= 0.15 * unit + 2.0 * steep
            assert (near | wall).all()


def test_milestones_of_the_answer_are_marked_at_their_cycles() -> None:
    _, answer, page = made(example("cracks/growth-surface-blocks"), "cracks/growth")
    found = {each.words: each.cycles for each in milestones(answer)}
    history = answer["history"]
    assert found == {
        "through the wall": history["elapsed_cycles"][history["depth_mm"].index(8.0)],
        "life without retardation": answer["life_without_retardation_cycles"],
    }
    svg = pictures(page)["Crack size in mm over the cycles"]
    (panel,) = panels(svg)
    marks = [
        line for colour in (BLACK, GREY) for line in panel.lines(colour) if len(line) == 2 and np.ptp(line[:, 0]) == 0
    ]
    drawn = sorted(float(panel.across()(line[:1, 0])[0]) * 1e6 for line in marks)
    np.testing.assert_allclose(drawn, sorted(found.values()), rtol=2e-3)
    assert all(f">{words}</text>" in svg for words in (*found, "end: fracture"))
    assert "end at 10,900,000 cycles: the toughness is reached; through the wall" in svg


def test_a_check_marks_the_cycles_that_are_asked_and_tells_those_far_away() -> None:
    request = example("check/bracket-toe-growth")
    _, answer, page = made(request)
    growth = answer["growth"]
    asked = growth["repeats_asked"] * growth["life_cycles"] / growth["life_repeats"]
    assert [(each.words, each.cycles) for each in milestones(growth)] == [("cycles asked", pytest.approx(asked))]
    assert ">cycles asked</text>" in pictures(page)["Crack size in mm over the cycles"]
    request["target"]["repeats"] *= 1e4
    svg = pictures(made(request)[2])["Crack size in mm over the cycles"]
    assert ">cycles asked</text>" not in svg
    assert "cycles asked" in svg


CENTRE = {"kind": "centre", "half_length_mm": 2.0, "width_mm": 80.0, "thickness_mm": 8.0}
EDGE = {"kind": "edge", "depth_mm": 2.0, "width_mm": 40.0}
TABLE = example("cracks/growth-tabled")["crack"]


@pytest.mark.parametrize(
    ("crack", "sizes", "drives"),
    [
        (CENTRE, ["half length"], ["crack tip"]),
        ({**CENTRE, "thickness_mm": None}, ["half length"], ["crack tip"]),
        (EDGE, ["depth"], ["crack tip"]),
        (TABLE, ["size"], ["crack tip"]),
    ],
    ids=["centre", "centre without thickness", "edge", "table"],
)
def test_curves_of_a_crack_are_called_what_they_are(crack: dict[str, Any], sizes: list[str], drives: list[str]) -> None:
    request = {
        "crack": crack,
        "law": {"stages": [{"coefficient": 5.21e-13, "exponent": 3.0}], "units": "mm-MPa"},
        "loading": {"kind": "constant", "maximum": 1.0, "minimum": 0.0},
        **({} if crack is TABLE else {"stress": {"membrane_mpa": 60.0}}),
    }
    _, answer, page = made(request, "cracks/growth")
    for svg, names in zip(pictures(page).values(), (sizes, drives), strict=True):
        assert re.findall(r">(depth|half length|size|half size|crack tip|deepest point)</text>", svg) == names
    assert not milestones(answer)


# curve and spectrum


def test_design_curve_and_point_stand_where_the_answer_puts_them() -> None:
    request, answer, page = made(
        {"range_mpa": [120.0, 60.0], "count": [1e5, 1e6], "curve": OWN_CURVE}, "spectrum/damage"
    )
    (name,) = (name for name in pictures(page) if name.startswith("Design curve"))
    (panel,) = panels(pictures(page)[name])
    across, up = panel.across(log=True), panel.up(log=True)
    (curve,) = panel.lines(BLACK)
    np.testing.assert_allclose(up(curve[:, 1]), 100.0 * (2e6 / across(curve[:, 0])) ** (1.0 / 3.0), rtol=2e-3)
    ((x, y),) = panel.marks(AMBER)
    assert across(np.array([x]))[0] == pytest.approx(answer["total_count"], rel=2e-3)
    # the constant range of as many cycles that does the same damage on a line of slope 3 through 100 MPa at 2e6
    alike = 100.0 * (answer["damage"] * 2e6 / answer["total_count"]) ** (1.0 / 3.0)
    assert up(np.array([y]))[0] == pytest.approx(alike, rel=2e-3)
    (largest,) = (line for line in panel.lines(GREY) if len(line) == 2)
    assert up(largest[:1, 1])[0] == pytest.approx(120.0, rel=2e-3)
    assert request.repeats == 1.0


def test_exceedances_and_shares_are_those_of_the_cycles() -> None:
    ranges, count = [120.0, 60.0, 30.0], [1e3, 1e5, 1e6]
    _, answer, page = made(
        {"range_mpa": ranges, "count": count, "curve": OWN_CURVE, "list_cycles": True}, "spectrum/damage"
    )
    left, right = (panels(pictures(page)[name])[0] for name in list(pictures(page))[1:])
    (steps,) = left.lines(BLUE)
    corners = np.column_stack([left.across(log=True)(steps[:, 0]), left.up()(steps[:, 1])])
    for corner in np.column_stack([np.cumsum(count), ranges]):
        assert np.abs(corners / corner - 1.0).sum(axis=1).min() < 0.01
    edges = re.findall(r'd="M [\d.]+ [\d.]+ L ([\d.]+) [^"]*" clip-path="[^"]*" style="fill: ' + AMBER, right.content)
    bars = right.across()(np.array(edges, dtype=np.float64))
    np.testing.assert_allclose(
        np.sort(bars), np.sort(100.0 * np.array(answer["cycle_shares"]["cycle_share"])), atol=0.1
    )


# names


@pytest.mark.uncounted
@pytest.mark.parametrize("name", ["خط اللحام الأيمن للكتيفة", "溶接線の止端部" * 20, "W" * 200, "i" * 200, HOSTILE * 4])
def test_the_name_over_a_picture_fits_and_is_told_whole_in_words(name: str) -> None:
    _, _, page = made(toe(lines=[long_line(9, lambda k: 30 + k, name=name[:200])], loading=blocks(3)))
    (label,) = (each for each in pictures(page) if "utilisation along the line" in each)
    assert label.startswith(name[:200])
    assert "script" not in Balanced(page).names
