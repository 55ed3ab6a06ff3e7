"""Crack lengths from potentials and compliance: closed form by hand, round trips, energy release, bad input."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fatcore.cracks.intensity.families import family
from fatcore.errors import InputError
from fatcore.trials import PotentialForm, find_initiation, lengths_from_compliance, lengths_from_potential
from fatcore.trials.length.compliance import compliances_of_lengths
from fatcore.trials.length.potential import potentials_of_lengths

CENTRE: dict[str, Any] = {"specimen": "centre", "width_mm": 75.0, "probe_mm": 3.0, "reference_mm": 10.0}


def form(**other: Any) -> PotentialForm:
    return PotentialForm(**{**CENTRE, **other})


def codes(found: Any) -> set[str]:
    return {each.code for each in found.findings}


def test_the_closed_form_is_that_of_a_centre_crack_by_hand() -> None:
    ratio = 1.5
    at_reference = math.acosh(math.cosh(math.pi * 3.0 / 75.0) / math.cos(math.pi * 10.0 / 75.0))
    expected = 75.0 / math.pi * math.acos(math.cosh(math.pi * 3.0 / 75.0) / math.cosh(ratio * at_reference))
    found = lengths_from_potential(form(), np.array([1.0, 1.5]), 1.0)
    assert found.size_mm == pytest.approx([10.0, expected])
    assert found.reading.tolist() == [1.0, 1.5]


def test_the_closed_form_makes_the_potential_harmonic_without_flux_through_crack_and_sides() -> None:
    # potential of a plate under uniform current: V = acosh(cosh(pi y/W)/cos(pi a/W)) on the middle line, the real
    # part of acosh(cos(pi z/W)/cos(pi a/W)) with z = x + i y; its imaginary part is constant on crack-free symmetry
    size, width = 14.0, 75.0

    def complex_potential(x: float, y: float) -> complex:
        return complex(np.arccosh(np.cos(np.pi * complex(x, -y) / width) / np.cos(np.pi * size / width)))

    step = 1e-3
    for x, y in ((3.0, 4.0), (20.0, 1.5), (30.0, 6.0)):
        here = complex_potential(x, y).real
        around = sum(
            complex_potential(x + dx, y + dy).real for dx, dy in ((step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step))
        )
        assert (around - 4.0 * here) / step**2 == pytest.approx(0.0, abs=1e-3)
    for y in (2.0, 10.0):  # no current through the side of the plate
        flux = complex_potential(0.5 * width + step, y).real - complex_potential(0.5 * width - step, y).real
        assert flux == pytest.approx(0.0, abs=1e-9)
    ratio = potentials_of_lengths(form(), [size]).reading[0]
    between = complex_potential(0.0, 3.0).real
    size = 10.0
    assert ratio == pytest.approx(between / complex_potential(0.0, 3.0).real)


def test_an_edge_crack_is_half_of_a_centre_crack() -> None:
    edge = form(specimen="edge", width_mm=37.5)
    readings = np.linspace(1.0, 3.0, 9)
    assert lengths_from_potential(edge, readings, 1.0).size_mm == pytest.approx(
        lengths_from_potential(form(), readings, 1.0).size_mm
    )


@pytest.mark.parametrize(
    ("given_form", "sizes", "digits"),
    [
        (form(), np.linspace(1.0, 36.0, 30), 1e-9),
        (form(specimen="edge"), np.linspace(1.0, 72.0, 30), 1e-9),
        (PotentialForm(specimen="compact", width_mm=50.0), np.linspace(12.05, 34.9, 30), 0.0009 * 50.0),
    ],
)
def test_potentials_of_lengths_lead_back(given_form: PotentialForm, sizes: np.ndarray, digits: float) -> None:
    there = potentials_of_lengths(given_form, sizes)
    back = lengths_from_potential(
        given_form, there.reading, 1.0, reference_probe_v=np.ones(30), reference_probe_at_reference_v=1.0
    )
    assert back.size_mm == pytest.approx(sizes, abs=digits)
    assert not codes(back)


def test_a_polynomial_of_ones_own_gives_sizes() -> None:
    own = PotentialForm(
        specimen="edge", width_mm=40.0, size_coefficients=(-0.2, 0.5, -0.05), ratio_low=0.8, ratio_high=2.0
    )
    found = lengths_from_potential(own, np.array([1.0, 1.5, 2.5]), 1.0)
    ratio = np.array([1.0, 1.5, 2.5])
    assert found.size_mm == pytest.approx(40.0 * (-0.2 + 0.5 * ratio - 0.05 * ratio**2))
    assert "potential-out-of-range" in codes(found)
    assert found.sources == ("own-calibration",)


def test_a_reference_probe_takes_out_the_drift_of_the_current() -> None:
    drift = np.array([1.0, 1.04, 0.93])
    true = np.array([1.0, 1.2, 1.5])
    plain = lengths_from_potential(form(), true, 1.0)
    found = lengths_from_potential(
        form(), true * drift, 1.0, reference_probe_v=0.3 * drift, reference_probe_at_reference_v=0.3
    )
    assert found.size_mm == pytest.approx(plain.size_mm)
    assert "potential-not-corrected" in codes(plain)
    assert "potential-not-corrected" not in codes(found)


def test_temperatures_take_out_the_change_of_resistance() -> None:
    temperature = np.array([20.0, 45.0, 10.0])
    true = np.array([1.0, 1.2, 1.5])
    found = lengths_from_potential(
        form(),
        true * (1.0 + 4e-3 * (temperature - 20.0)),
        1.0,
        temperature_celsius=temperature,
        reference_temperature_celsius=20.0,
        temperature_coefficient_per_k=4e-3,
    )
    assert found.reading == pytest.approx(true)


def test_less_than_the_potential_without_a_crack_is_told_as_no_size() -> None:
    found = lengths_from_potential(form(), np.array([1.0, 0.1]), 1.0)
    assert found.size_mm[1] == 0.0
    said = next(each for each in found.findings if each.code == "potential-out-of-range")
    assert "uncracked" in said.message
    assert "size-falls-far" in codes(found)


HEAT = {
    "temperature_celsius": np.array([20.0, 30.0]),
    "reference_temperature_celsius": 20.0,
    "temperature_coefficient_per_k": 4e-3,
}


@pytest.mark.parametrize(
    ("readings", "other", "path"),
    [
        ([1.0, -1.2], {}, ("potential_v",)),
        ([1.0, float("nan")], {}, ("potential_v",)),
        ([], {}, ("potential_v",)),
        (np.ones(20_001), {}, ("potential_v",)),
        ([1.0, 1.2], {"reference_probe_v": np.ones(2)}, ("reference_probe_at_reference_v",)),
        ([1.0, 1.2], {"reference_probe_at_reference_v": 1.0}, ("reference_probe_v",)),
        ([1.0, 1.2], {"reference_probe_v": np.ones(3), "reference_probe_at_reference_v": 1.0}, ("reference_probe_v",)),
        ([1.0, 1.2], {**HEAT, "temperature_celsius": None}, ("temperature_celsius",)),
        ([1.0, 1.2], {**HEAT, "reference_temperature_celsius": None}, ("reference_temperature_celsius",)),
        ([1.0, 1.2], {**HEAT, "temperature_coefficient_per_k": None}, ("temperature_coefficient_per_k",)),
        ([1.0, 1.2], {**HEAT, "temperature_celsius": np.array([20.0, np.nan])}, ("temperature_celsius",)),
        ([1.0, 1.2], {**HEAT, "temperature_celsius": np.array([20.0])}, ("temperature_celsius",)),
        (
            [1.0, 1.2],
            {**HEAT, "temperature_coefficient_per_k": 1.0, "reference_temperature_celsius": 90.0},
            ("temperature_coefficient_per_k",),
        ),
    ],
)
def test_bad_potentials_are_refused_by_name(readings: Any, other: dict[str, Any], path: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        lengths_from_potential(form(), np.asarray(readings), 1.0, **other)
    assert caught.value.path[:1] == path


def test_an_own_polynomial_that_overflows_is_refused() -> None:
    own = PotentialForm(specimen="edge", width_mm=40.0, **{**RISING, "size_coefficients": (0.0, 0.3, *[0.0] * 6, 1e-6)})
    with pytest.raises(InputError, match="no size") as caught:
        lengths_from_potential(own, np.array([1e-30, 1e30]), 1e-30)
    assert caught.value.path == ("potential_v", 1)
    with pytest.raises(InputError, match="leaves 0 to"):
        PotentialForm(specimen="edge", width_mm=1e30, size_coefficients=[1e30] * 9, ratio_low=0.8, ratio_high=2.0)


RISING: dict[str, Any] = {"size_coefficients": (-0.2, 0.5, -0.05), "ratio_low": 0.8, "ratio_high": 2.0}


@pytest.mark.parametrize(
    ("other", "words"),
    [
        # the inverse of the compact form beyond the ratios for which it holds
        (
            {"specimen": "compact", "size_coefficients": (-0.5051, 0.8857, -0.1398, 0.0002398), "ratio_high": 3.9},
            "rise",
        ),
        ({"size_coefficients": (0.9, -0.3)}, "rise"),
        ({"size_coefficients": (-5.0, 1.0), "ratio_low": 1.0, "ratio_high": 60.0}, "leaves 0 to 40 mm"),
        ({"specimen": "centre"}, "leaves 0 to 20 mm"),
        ({"size_coefficients": (0.2, 0.0)}, "rise"),
    ],
)
def test_an_own_polynomial_that_falls_or_leaves_the_specimen_is_refused(other: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        PotentialForm(**{"specimen": "edge", "width_mm": 40.0, **RISING, **other})
    assert caught.value.path == ("size_coefficients",)


@pytest.mark.parametrize("readings", [[1.0, 0.1, 1.2], [1.0, 4.9, 1.2]])
def test_a_size_outside_the_specimen_is_refused_with_the_place_of_the_reading(readings: list[float]) -> None:
    own = PotentialForm(specimen="edge", width_mm=40.0, **{**RISING, "size_coefficients": (-0.1, 0.3)})
    with pytest.raises(InputError, match="outside 0 to 40 mm") as caught:
        lengths_from_potential(own, np.array(readings), 1.0)
    assert caught.value.path == ("potential_v", 1)


def test_compliances_outside_the_specimen_are_refused_with_the_place_of_the_reading() -> None:
    with pytest.raises(InputError, match="outside 0 to 50 mm") as caught:
        lengths_from_compliance(
            np.array([50.0, 2.0]), width_mm=50.0, thickness_mm=1.0, youngs_modulus_mpa=1.0, gauge="load-line"
        )
    assert caught.value.path == ("compliance_mm_per_n", 1)


@pytest.mark.parametrize("given_form", [{}, {"specimen": "edge"}])
def test_a_ratio_at_which_the_size_saturates_leaves_the_form(given_form: dict[str, Any]) -> None:
    wide = form(**given_form)
    ratio = wide.ratio(np.array([0.98, 0.995]) * wide.largest_mm)
    assert "potential-out-of-range" not in codes(lengths_from_potential(wide, ratio[:1], 1.0))
    assert "potential-out-of-range" in codes(lengths_from_potential(wide, ratio[1:], 1.0))
    assert "potential-out-of-range" in codes(lengths_from_potential(wide, np.array([1e6]), 1.0))


def test_sizes_that_fall_by_more_than_scatter_are_doubtful() -> None:
    sizes = np.array([20.0, 25.0, 24.8, 30.0])
    there = potentials_of_lengths(form(), sizes).reading
    assert "size-falls" in codes(lengths_from_potential(form(), there, 1.0))
    there = potentials_of_lengths(form(), np.array([20.0, 25.0, 24.0, 30.0])).reading
    assert {"size-falls", "size-falls-far"} & codes(lengths_from_potential(form(), there, 1.0)) == {"size-falls-far"}


def test_temperatures_and_a_reference_probe_together_are_refused() -> None:
    probe = {"reference_probe_v": np.ones(2), "reference_probe_at_reference_v": 1.0}
    with pytest.raises(InputError, match="twice") as caught:
        lengths_from_potential(form(), np.array([1.0, 1.2]), 1.0, **HEAT, **probe)
    assert caught.value.path == ("temperature_celsius",)


@pytest.mark.parametrize(
    ("temperature", "reference", "said"),
    [
        ([20.0, 40.0], 20.0, False),
        ([293.0, 295.0], 20.0, True),
        ([20.0, 20.0], 293.0, True),
        ([155.0, 160.0], 90.0, True),
        ([250.0, 300.0], 250.0, False),
    ],
)
def test_temperatures_far_from_their_reference_are_doubtful(
    temperature: list[float], reference: float, said: bool
) -> None:
    heat = {"temperature_celsius": np.array(temperature), "reference_temperature_celsius": reference}
    found = lengths_from_potential(form(), np.array([2.0, 2.2]), 1.0, **heat, temperature_coefficient_per_k=2e-3)
    assert ("temperatures-unlikely" in codes(found)) == said
    assert "temperature-coefficient-unlikely" not in codes(found)


def test_a_coefficient_of_temperature_in_percent_is_doubtful() -> None:
    heat = {**HEAT, "temperature_celsius": np.array([20.0, 20.1]), "temperature_coefficient_per_k": 0.4}
    assert "temperature-coefficient-unlikely" in codes(
        lengths_from_potential(form(), np.array([1.0, 1.2]), 1.0, **heat)
    )


OWN = {"size_coefficients": (0.0, 0.3), "ratio_low": 0.8, "ratio_high": 2.0, "probe_mm": None, "reference_mm": None}


@pytest.mark.parametrize(
    ("other", "path"),
    [
        ({"probe_mm": None}, ("probe_mm",)),
        ({"reference_mm": None}, ("reference_mm",)),
        ({"specimen": "compact"}, ("probe_mm",)),
        ({**OWN, "reference_mm": 10.0}, ("reference_mm",)),
        ({**OWN, "ratio_low": None}, ("size_coefficients",)),
        ({**OWN, "ratio_low": 3.0}, ("ratio_high",)),
        ({"reference_mm": 37.5}, ("reference_mm",)),
        ({"specimen": "edge", "reference_mm": 75.0}, ("reference_mm",)),
        ({"probe_mm": 75.1}, ("probe_mm",)),
        ({"width_mm": float("inf")}, ("width_mm",)),
        ({"specimen": "round"}, ("specimen",)),
    ],
)
def test_bad_forms_are_refused_by_name(other: dict[str, Any], path: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        form(**other)
    assert caught.value.path == path


@pytest.mark.parametrize(
    "given_form", [form(), form(specimen="edge"), PotentialForm(specimen="compact", width_mm=75.0)]
)
def test_cracks_beyond_the_specimen_are_refused(given_form: PotentialForm) -> None:
    largest = 37.5 if given_form.specimen == "centre" else 75.0
    with pytest.raises(InputError, match=f"{largest:g} mm") as caught:
        potentials_of_lengths(given_form, np.array([10.0, largest]))
    assert caught.value.path == ("size_mm",)


def test_compliance_of_lengths_leads_back_within_the_fit() -> None:
    sizes = np.linspace(10.0, 48.0, 60)
    there = compliances_of_lengths(sizes, width_mm=50.0)
    back = lengths_from_compliance(
        there.reading / (2.06e5 * 10.0), width_mm=50.0, thickness_mm=10.0, youngs_modulus_mpa=2.06e5, gauge="load-line"
    )
    assert back.reading == pytest.approx(there.reading)
    assert back.size_mm / 50.0 == pytest.approx(sizes / 50.0, abs=2.6e-4)
    assert not codes(back)


def test_the_slope_of_compliance_is_twice_the_square_of_the_intensity_factor() -> None:
    # energy release: dC*/d(a/W) = 2 f^2 with f = K B sqrt(W)/P; the two published fits agree to 1.5 % from a/W = 0.4
    share, step = np.linspace(0.4, 0.8, 9), 1e-5
    ahead = compliances_of_lengths((share + step) * 50.0, width_mm=50.0).reading
    behind = compliances_of_lengths((share - step) * 50.0, width_mm=50.0).reading
    found = family("specimen-compact").intensity(share * 50.0, width_mm=50.0, thickness_mm=1.0, force_n=1.0)
    factor = found.k_mpa_sqrt_mm * math.sqrt(50.0)
    assert (ahead - behind) / (2.0 * step) == pytest.approx(2.0 * factor**2, rel=0.015)


def test_the_front_face_opens_more_than_the_load_line() -> None:
    compliance = np.array([2e-5, 5e-5])
    asked: dict[str, Any] = {"width_mm": 50.0, "thickness_mm": 10.0, "youngs_modulus_mpa": 2.06e5}
    front = lengths_from_compliance(compliance, gauge="front-face", **asked)
    line = lengths_from_compliance(compliance, gauge="load-line", **asked)
    assert (front.size_mm < line.size_mm).all()
    u = 1.0 / (np.sqrt(compliance * 2.06e5 * 10.0) + 1.0)
    by_hand = 1.0010 - 4.6695 * u + 18.460 * u**2 - 236.82 * u**3 + 1214.9 * u**4 - 2143.6 * u**5
    assert front.size_mm == pytest.approx(50.0 * by_hand)


def test_sizes_beyond_the_fit_of_the_compliance_are_told() -> None:
    found = compliances_of_lengths(np.array([5.0, 20.0]), width_mm=50.0)
    assert "compliance-out-of-range" in codes(found)


@pytest.mark.parametrize(
    ("call", "path"),
    [
        (lambda: compliances_of_lengths(np.array([50.0]), width_mm=50.0), ("size_mm",)),
        (lambda: compliances_of_lengths(np.ones(20_001), width_mm=50.0), ("size_mm",)),
        (lambda: compliances_of_lengths(np.array([np.nan]), width_mm=50.0), ("size_mm",)),
        (
            lambda: lengths_from_compliance(
                np.full(20_001, 1e-5), width_mm=50.0, thickness_mm=1.0, youngs_modulus_mpa=2e5, gauge="load-line"
            ),
            ("compliance_mm_per_n",),
        ),
        (
            lambda: lengths_from_compliance(
                np.array([-1e-5]), width_mm=50.0, thickness_mm=1.0, youngs_modulus_mpa=2e5, gauge="load-line"
            ),
            ("compliance_mm_per_n",),
        ),
    ],
)
def test_bad_compliances_are_refused_by_name(call: Any, path: tuple[str, ...]) -> None:
    with pytest.raises(InputError) as caught:
        call()
    assert caught.value.path[:1] == path


COUNT = np.arange(10.0) * 1e4
POTENTIAL = np.array([1.0, 1.001, 0.999, 1.002, 1.06, 1.01, 1.05, 1.07, 1.1, 1.2])


def test_a_crack_begins_where_the_potential_stays_risen() -> None:
    found = find_initiation(POTENTIAL, COUNT, rise=0.04, baseline_readings=3)
    assert (found.reading_index, found.cycles) == (6, 6e4)
    assert found.baseline_v == pytest.approx(1.0)
    assert not codes(found)


def test_a_potential_that_does_not_stay_risen_tells_no_crack() -> None:
    found = find_initiation(POTENTIAL, COUNT, rise=0.5, baseline_readings=3)
    assert (found.reading_index, found.cycles) == (None, None)
    assert codes(found) == {"no-initiation"}


@pytest.mark.parametrize("last", [1.0, 1.3])
def test_one_low_reading_later_does_not_put_off_a_crack(last: float) -> None:
    potential = np.array([1.0, 1.001, 0.999, 1.06, 1.07, 1.08, 1.1, 1.0, 1.2, last])
    found = find_initiation(potential, COUNT, rise=0.04, baseline_readings=3)
    assert (found.reading_index, found.cycles) == (3, 3e4)
    assert codes(found) == {"rise-falls-back"}
    text = found.findings[0].message
    assert ("all from" in text) == (last > 1.04)
    assert "3 readings in a row" in text


def test_two_readings_hold_no_three_in_a_row() -> None:
    found = find_initiation(np.array([1.0, 1.2]), COUNT[:2], rise=0.04, baseline_readings=1)
    assert found.reading_index == 1


def test_a_baseline_that_scatters_or_is_risen_itself_is_told() -> None:
    assert "baseline-scatters" in codes(find_initiation(POTENTIAL, COUNT, rise=0.003, baseline_readings=3))
    rising = np.array([1.0, 1.5, 1.6, 1.7, 1.8])
    found = find_initiation(rising, COUNT[:5], rise=0.01, baseline_readings=4)
    assert {"risen-in-baseline", "baseline-scatters"} <= codes(found)


@pytest.mark.parametrize(
    ("potential", "count", "other", "path"),
    [
        (POTENTIAL, COUNT[::-1], {}, ("cycles", 1)),
        (POTENTIAL, COUNT - 1.0, {}, ("cycles",)),
        (POTENTIAL, np.where(COUNT == 3e4, np.nan, COUNT), {}, ("cycles",)),
        (POTENTIAL, COUNT[:-1], {}, ("cycles",)),
        (-POTENTIAL, COUNT, {}, ("potential_v",)),
        (POTENTIAL, COUNT, {"rise": 0.0}, ("rise",)),
        (POTENTIAL, COUNT, {"baseline_readings": 10}, ("baseline_readings",)),
    ],
)
def test_bad_courses_of_potential_are_refused_by_name(
    potential: Any, count: Any, other: dict[str, Any], path: tuple[str | int, ...]
) -> None:
    with pytest.raises(InputError) as caught:
        find_initiation(potential, count, **{"rise": 0.04, "baseline_readings": 3, **other})
    assert caught.value.path[: len(path)] == path


@settings(max_examples=20, deadline=None)
@given(st.floats(0.01, 100.0), st.floats(0.01, 100.0))
def test_units_of_potential_do_not_count_and_units_of_length_scale(by_volt: float, by_mm: float) -> None:
    readings = np.array([1.0, 1.3, 2.0])
    plain = lengths_from_potential(form(), readings, 1.0)
    scaled = lengths_from_potential(
        form(width_mm=75.0 * by_mm, probe_mm=3.0 * by_mm, reference_mm=10.0 * by_mm), readings * by_volt, by_volt
    )
    assert scaled.size_mm == pytest.approx(plain.size_mm * by_mm)


def test_the_front_face_compliance_gives_its_crack_back() -> None:
    size = np.array([12.0, 25.0, 40.0])
    forward = compliances_of_lengths(size, width_mm=50.0, gauge="front-face")
    back = lengths_from_compliance(
        forward.reading / (206000.0 * 12.0),
        width_mm=50.0,
        thickness_mm=12.0,
        youngs_modulus_mpa=206000.0,
        gauge="front-face",
    )
    assert back.size_mm == pytest.approx(size)
    with pytest.raises(InputError, match="not to this size") as caught:
        compliances_of_lengths(np.array([12.0, 3.0]), width_mm=50.0, gauge="front-face")
    assert caught.value.path == ("size_mm", 1)


def test_an_own_polynomial_gives_its_ratio_back() -> None:
    own = PotentialForm(
        specimen="compact", width_mm=50.0, size_coefficients=(-0.2, 0.5, -0.02), ratio_low=1.0, ratio_high=2.0
    )
    ratio = np.array([1.0, 1.4, 2.0])
    found = potentials_of_lengths(own, own.size_mm(ratio))
    assert found.reading == pytest.approx(ratio)
    assert found.tables == ()
    with pytest.raises(InputError, match="not to this size") as caught:
        potentials_of_lengths(own, np.array([49.0]))
    assert caught.value.path == ("size_mm", 0)
