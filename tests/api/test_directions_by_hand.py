"""Directions that a baseline keeps, and turns since, with vectors of whole degrees and lines of round lengths."""

from __future__ import annotations

import math

import pytest
from pydantic import TypeAdapter, ValidationError

from service.lines.directions import MOST_STATIONS, KeptDirections, ends_of, kept_directions, turns
from service.topics.check.lines import LineInput

ACROSS = [0.0, 0.0, 1.0]


def along(*angles_deg: float, length: float = 1.0) -> list[list[float]]:
    """Vectors in the plane x, y at these angles to x."""
    return [[length * math.cos(math.radians(a)), length * math.sin(math.radians(a)), 0.0] for a in angles_deg]


def line(
    position_mm: list[float],
    tangent: list[list[float]] | None = None,
    bisector: list[list[float]] | None = None,
    coordinates_mm: list[list[float]] | None = None,
) -> LineInput:
    case = {"peaks_mpa": {"opening": [1.0] * len(position_mm)}}
    return LineInput.model_validate(
        {
            "name": "toe",
            "position_mm": position_mm,
            "cases": {"pull": case},
            "tangent": tangent,
            "bisector": bisector,
            "coordinates_mm": coordinates_mm,
        }
    )


def test_rows_hold_the_position_and_a_unit_vector_of_four_digits() -> None:
    kept = kept_directions(line([0.0, 12.5], tangent=[[3.0, 4.0, 0.0], [0.0, -1e-9, 2.0]]), governing=0)
    assert kept == {"tangent": ["0 0.6 0.8 0", "12.5 0 0 1"]}


def test_vectors_of_any_size_are_units() -> None:
    """The square of 1e-200 is no number any more; a vector of no length stays one."""
    for size in (1e-200, 0.5, 1e30):
        kept = kept_directions(line([0.0], bisector=[[0.6 * size, 0.0, 0.8 * size]]), governing=0)
        assert kept == {"bisector": ["0 0.6 0 0.8"]}
    assert kept_directions(line([0.0], bisector=[[0.0, 0.0, 0.0]]), governing=0) == {"bisector": ["0 0 0 0"]}


@pytest.mark.parametrize(("size", "governing", "rows"), [(7, 3, 7), (50, 20, 50), (99, 1, 51), (99, 2, 50)])
def test_fifty_stations_are_kept_of_a_longer_line_and_the_governing_one(size: int, governing: int, rows: int) -> None:
    """Of 99 stations every second one, from the first to the last."""
    given = line([float(place) for place in range(size)], tangent=[ACROSS] * size)
    kept = kept_directions(given, governing)["tangent"]
    places = [int(row.split(" ")[0]) for row in kept]
    step = 1 if size <= MOST_STATIONS else 2
    assert places == sorted({*range(0, size, step), governing})
    assert len(places) == rows


def test_ends_and_the_middle_of_the_length_are_kept() -> None:
    """The middle lies at 15 mm of 10 to 20: half way from the second station to the third."""
    places = [[0.0, 0.0, -0.0], [2.0, 0.0, 1.0], [8.0, 2.0, 3.0]]
    assert ends_of(line([10.0, 12.0, 18.0], coordinates_mm=places)) == ["0 0 0", "4 0.6666666667 1.666666667", "8 2 3"]
    assert ends_of(line([10.0, 12.0, 18.0])) == []


@pytest.mark.parametrize("angle_deg", [0.0, 0.5, 10.0, 90.0])
def test_the_largest_turn_and_its_place(angle_deg: float) -> None:
    before = {"tangent": ["0 1 0 0", "10 1 0 0", "20 1 0 0"]}
    now = line([0.0, 10.0, 20.0], tangent=along(0.0, angle_deg, -0.4 * angle_deg, length=7.0))
    turned = turns(before, now)
    assert turned["tangent"][0] == pytest.approx(angle_deg, abs=1e-6)
    assert turned["tangent"][1] == (10.0 if angle_deg else 0.0)


@pytest.mark.parametrize(("angle_deg", "tangent_deg"), [(30.0, 30.0), (90.0, 90.0), (135.0, 45.0), (180.0, 0.0)])
def test_a_tangent_counts_to_either_end_a_bisector_does_not(angle_deg: float, tangent_deg: float) -> None:
    kept = {"tangent": ["0 1 0 0", "4 1 0 0"], "bisector": ["0 1 0 0", "4 1 0 0"]}
    turned = turns(kept, line([0.0, 4.0], tangent=along(angle_deg, 0.0), bisector=along(0.0, angle_deg)))
    assert turned["tangent"] == (pytest.approx(tangent_deg, abs=1e-6), 0.0)
    assert turned["bisector"] == (pytest.approx(angle_deg, abs=1e-6), 4.0 if angle_deg else 0.0)


def test_only_directions_that_both_have_are_compared() -> None:
    assert turns({"tangent": ["0 1 0 0"]}, line([0.0], bisector=along(3.0))) == {}
    assert set(turns({"tangent": ["0 1 0 0"]}, line([0.0], tangent=along(3.0), bisector=along(3.0)))) == {"tangent"}


def test_between_stations_directions_are_interpolated() -> None:
    """Half way between 0 and 90 degrees of equal vectors lie 45."""
    turned = turns({"bisector": ["0 1 0 0", "5 1 0 0", "10 0 1 0"]}, line([0.0, 10.0], bisector=along(0.0, 90.0)))
    assert turned["bisector"] == (pytest.approx(45.0, abs=1e-6), 5.0)


@pytest.mark.parametrize(
    ("length_mm", "turn_deg"), [(20.0, 0.0), (20.199, 0.0), (19.801, 0.0), (20.201, 20.0), (19.799, 20.0)]
)
def test_a_line_as_long_within_a_hundredth_may_start_elsewhere(length_mm: float, turn_deg: float) -> None:
    """Kept from 100 to 120 mm, listed from 105 now: as long, it is moved; else the places are as they say."""
    kept = {"bisector": ["100 1 0 0", "105 1 0 0", f"120 {along(20.0)[0][0]} {along(20.0)[0][1]} 0"]}
    now = line([105.0, 110.0, 105.0 + length_mm], bisector=along(0.0, 0.0, 20.0))
    (angle, _) = turns(kept, now)["bisector"]
    if turn_deg:
        assert angle > 5.0  # 120 mm falls within the turning part of the line
    else:
        assert angle < 1.0


def test_a_line_of_another_start_is_compared_at_its_moved_places() -> None:
    kept = {"bisector": ["100 1 0 0", "110 1 0 0", "120 0 1 0"]}
    now = line([5.0, 15.0, 25.0], bisector=along(0.0, 12.0, 90.0))
    assert turns(kept, now)["bisector"] == (pytest.approx(12.0, abs=1e-6), 110.0)


def test_a_line_listed_from_its_other_end_is_seen_mirrored() -> None:
    """Kept at 100, 104 and 120 mm; listed from the other end from 7 mm on: 23 mm is the place of 104."""
    kept = {"bisector": ["100 1 0 0", "104 1 0 0", "120 0 1 0"]}
    now = line([7.0, 23.0, 27.0], bisector=along(90.0, 9.0, 0.0))
    angle, at_mm = turns(kept, now, backwards=True)["bisector"]
    assert (angle, at_mm) == (pytest.approx(9.0, abs=1e-6), 104.0)
    assert turns(kept, now, backwards=False)["bisector"][0] == pytest.approx(90.0, abs=1e-6)
    assert turns(kept, now)["bisector"][0] == pytest.approx(90.0, abs=1e-6)
    assert turns(kept, now, backwards=None)["bisector"] == (angle, at_mm)
    assert turns(kept, line([7.0, 11.0, 27.0], bisector=along(2.0, 0.0, 90.0)), backwards=None)["bisector"] == (
        pytest.approx(2.0, abs=1e-6),
        100.0,
    )


def test_a_kept_direction_has_a_row_or_more() -> None:
    kept = TypeAdapter(KeptDirections)
    assert kept.validate_python({"tangent": ["0 1 0 0"]}) == {"tangent": ["0 1 0 0"]}
    for rows in ([], ["0 1 0"], ["0 1 0 0 0"], ["0 1 0 x"]):
        with pytest.raises(ValidationError):
            kept.validate_python({"tangent": rows})


def test_from_the_end_that_is_not_known_the_smaller_of_the_largest_turns_counts() -> None:
    """Forward the tangent keeps and the bisector turns by 50 degrees; backward they turn by 10 and by 20."""
    kept = {
        name: [f"{at} {' '.join(str(part) for part in along(angle)[0])}" for at, angle in rows]
        for name, rows in (("tangent", ((0, 0.0), (10, 10.0))), ("bisector", ((0, 0.0), (10, 40.0))))
    }
    turned = turns(kept, line([0.0, 10.0], tangent=along(0.0, 10.0), bisector=along(50.0, 20.0)), backwards=None)
    assert [round(turned[name][0], 6) for name in ("tangent", "bisector")] == [10.0, 20.0]


def test_half_a_turn_is_one_whatever_rounding_makes_of_it() -> None:
    angles = [float(angle) for angle in range(360)]
    places = [float(place) for place in range(360)]
    kept = {"bisector": [f"{place} {x} {y} 0" for place, (x, y, _) in zip(places, along(*angles), strict=True)]}
    now = line(places, bisector=[[-x, -y, 0.0] for x, y, _ in along(*angles)])
    assert turns(kept, now)["bisector"][0] == pytest.approx(180.0, abs=1e-5)


def test_a_hundredth_more_of_the_length_is_as_long() -> None:
    kept = {"bisector": ["0 1 0 0", "50 1 0 0", "100 1 0 0"]}
    now = line([5.0, 105.0, 106.0], bisector=along(0.0, 0.0, 90.0))
    assert turns(kept, now)["bisector"] == (pytest.approx(0.0, abs=1e-6), 0.0)


def test_a_line_of_another_length_is_compared_at_the_places_as_they_say() -> None:
    kept = {"bisector": ["0 1 0 0", "5 1 0 0", "10 1 0 0"]}
    turned = turns(kept, line([0.0, 20.0], bisector=along(0.0, 90.0)))
    assert turned["bisector"] == (pytest.approx(45.0, abs=1e-6), 10.0)
