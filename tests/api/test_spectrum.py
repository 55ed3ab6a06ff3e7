"""Spectrum over HTTP: large bodies, bad input with pointers, memory that a header cannot claim."""

from __future__ import annotations

import io
import tracemalloc
from typing import Any

import httpx
import numpy as np
import pytest

from fatcore.spectrum.counting.count import rainflow
from service.base.problems import Problem
from service.topics.spectrum.bodies import npy_body
from service.topics.spectrum.sample_tables import MAX_SAMPLES

EXAMPLE = [-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0]
NPY = {"content-type": "application/x-npy"}
CSV = {"content-type": "text/csv"}
CURVE = "iiw-2016-normal-steel-71"


def npy(array: np.ndarray) -> bytes:
    stream = io.BytesIO()
    np.save(stream, array, allow_pickle=array.dtype.hasobject)
    return stream.getvalue()


def claiming(text: str, rest: bytes = b"") -> bytes:
    head = text.encode() + b" " * (117 - len(text)) + b"\n"
    return b"\x93NUMPY\x01\x00" + len(head).to_bytes(2, "little") + head + rest


def test_npy_and_csv_bodies_give_the_answer_of_json(client: httpx.Client) -> None:
    by_json = client.post("/v1/spectrum/cycles", json={"history_mpa": EXAMPLE, "residue": "closed"}).json()
    query = {"residue": "closed"}
    by_npy = client.post("/v1/spectrum/cycles", params=query, content=npy(np.array(EXAMPLE)), headers=NPY)
    table = "time;stress\n" + "\n".join(f"{k};{value}" for k, value in enumerate(EXAMPLE))
    by_csv = client.post("/v1/spectrum/cycles", params={**query, "columns": "stress"}, content=table, headers=CSV)
    assert by_npy.status_code == by_csv.status_code == 200, by_npy.text + by_csv.text
    assert by_json["answer"] == by_npy.json()["answer"] == by_csv.json()["answer"]
    assert by_npy.json()["record"]["input_digest"] == by_csv.json()["record"]["input_digest"]


@pytest.mark.parametrize("mark", [";", "\t"])
@pytest.mark.parametrize("start", ["", "\ufeff", "\ufeff\r\n"])
def test_tables_with_decimal_commas(client: httpx.Client, mark: str, start: str) -> None:
    history = [value + 0.25 for value in EXAMPLE]
    expected = client.post("/v1/spectrum/cycles", json={"history_mpa": history}).json()["answer"]
    rows = [f"{k / 10}{mark}{value}".replace(".", ",") for k, value in enumerate(history)]
    table = "\r\n".join([f"{start}time{mark}stress", *rows, ""]).encode()
    answer = client.post("/v1/spectrum/cycles", params={"columns": "stress"}, content=table, headers=CSV)
    assert answer.status_code == 200, answer.text
    assert answer.json()["answer"] == expected
    alone = "\n".join(["stress", *(f"{value}".replace(".", ",") for value in history)])
    answer = client.post("/v1/spectrum/cycles", content=alone, headers=CSV)
    assert answer.json()["answer"] == expected


def test_peaks_are_counted_on_demand(client: httpx.Client) -> None:
    request = {"history_mpa": EXAMPLE, "list_peaks": True}
    found = client.post("/v1/spectrum/cycles", json=request).json()["answer"]["peaks"]
    assert found == {
        "maxima_mpa": [5.0, 4.0, 3.0, 1.0],
        "minima_mpa": [-4.0, -3.0, -1.0],
        "range_mpa": [9.0, 7.0, 4.0, 1.0],
    }
    gated = client.post("/v1/spectrum/cycles", json={**request, "hysteresis_threshold_mpa": 3.5}).json()
    assert gated["answer"]["peaks"]["maxima_mpa"] == [5.0, 4.0, 3.0]
    assert "peak-pairing" in {source["key"] for source in gated["record"]["sources"]}
    above = client.post("/v1/spectrum/cycles", json={**request, "reference_mpa": 3.5}).json()
    assert above["answer"]["peaks"]["maxima_mpa"] == [5.0, 4.0]
    plain = client.post("/v1/spectrum/cycles", json={"history_mpa": EXAMPLE}).json()["answer"]
    assert plain["peaks"] is None


def test_modes_as_rows_of_an_array_and_columns_of_a_table(client: httpx.Client) -> None:
    rows = np.array([EXAMPLE, EXAMPLE[::-1]])
    weights = '{"opening": 1.0, "tearing": 2.0}'
    query = {"curve": CURVE, "weights": weights, "columns": "opening,tearing"}
    body = {
        "modes_mpa": {"opening": EXAMPLE, "tearing": EXAMPLE[::-1]},
        "weights": {"opening": 1.0, "tearing": 2.0},
        "curve": CURVE,
    }
    by_json = client.post("/v1/spectrum/damage", json=body)
    assert by_json.status_code == 200, by_json.text
    for order in "CF":
        content = npy(np.asarray(rows, order=order))
        by_npy = client.post("/v1/spectrum/damage", params=query, content=content, headers=NPY)
        assert by_npy.json()["answer"] == by_json.json()["answer"]
    table = "opening,tearing\n" + "\n".join(f"{a},{b}" for a, b in rows.T)
    by_csv = client.post("/v1/spectrum/damage", params=query, content=table, headers=CSV)
    assert by_csv.json()["answer"] == by_json.json()["answer"]


def test_a_large_array_is_counted(client: httpx.Client) -> None:
    history = np.random.default_rng(2).normal(size=1_500_000).astype(np.float32)
    query = {"list_cycles": "false", "classes": "10"}
    answer = client.post("/v1/spectrum/cycles", params=query, content=npy(history), headers=NPY)
    assert answer.status_code == 200, answer.text
    assert answer.json()["answer"]["total_count"] == rainflow(history).total_count
    damage = client.post("/v1/spectrum/damage", params={"curve": CURVE}, content=npy(100.0 * history), headers=NPY)
    assert damage.json()["answer"]["damage"] > 0.0


def test_too_many_cycles_to_list(client: httpx.Client) -> None:
    history = np.tile(np.array([0, 1, 0, 2], dtype=np.int8), 1_100_000)
    answer = client.post("/v1/spectrum/cycles", content=npy(history), headers=NPY)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["pointer"] == "/list_cycles"
    peaks = {"list_cycles": "false", "list_peaks": "true"}
    answer = client.post("/v1/spectrum/cycles", params=peaks, content=npy(history), headers=NPY)
    assert answer.json()["errors"][0]["pointer"] == "/list_peaks"
    query = {"curve": CURVE, "list_cycles": "true"}
    damage = client.post("/v1/spectrum/damage", params=query, content=npy(history), headers=NPY)
    assert damage.json()["errors"][0]["pointer"] == "/list_cycles"


HEADER = "{'descr': '<f8', 'fortran_order': False, 'shape': (1000000000,), }"


@pytest.mark.parametrize(
    ("content", "status"),
    [
        (claiming(HEADER), 422),
        (claiming(HEADER, b"\0" * 800), 422),
        (claiming("{'descr': '<f8', 'fortran_order': False, 'shape': (-1, -1), }", b"\0" * 8), 422),
        (claiming("{'descr': '|O', 'fortran_order': False, 'shape': (2,), }", b"\0" * 16), 422),
        (claiming("{'descr': '<c16', 'fortran_order': False, 'shape': (1,), }", b"\0" * 16), 422),
        (claiming("{'descr': '|u1', 'fortran_order': False, 'shape': (1, 2, 1), }", b"\0\1"), 422),
        (claiming("{'descr': '|u1', 'fortran_order': False, 'shape': (), }", b"\1"), 422),
        (claiming("{'descr': '<f8', 'fortran_order': False, 'shape': (0,), }"), 422),
        (claiming("__import__('os')"), 422),
        (b"\x93NUMPY\x01\x00" + (9000).to_bytes(2, "little") + b"(" * 9000, 422),
        (b"\x93NUMPY\x02\x00" + (2**32 - 1).to_bytes(4, "little") + b"{}", 400),
        (claiming("{'descr': '<f8', 'fortran_order': False, 'shape': ('a',), }"), 422),
        (claiming("{'descr': [('a', '<f8')], 'fortran_order': False, 'shape': (1,), }", b"\0" * 8), 422),
        (b"\x93NUMPY\x03\x00", 400),
        (b"\x93NUMPY", 400),
        (b"", 400),
        (claiming("{'descr': '<f8', 'fortran_order': False, 'shape': (1, 2, 3), }", b"\0" * 48), 422),
        (claiming("{'descr': '<f2', 'fortran_order': False, 'shape': (0, 2), }"), 422),
        (claiming("{'descr': '<f1', 'fortran_order': False, 'shape': (2,), }", b"\0\1"), 422),
        (claiming("{'descr': '|u1', 'fortran_order': False, 'shape': (1 2), }", b"\0\1"), 422),
        (npy(np.array(EXAMPLE))[:-1], 422),
        (npy(np.array([1.0])), 422),
        (npy(np.array([1.0, np.nan])), 422),
        (npy(np.array([1.0, 1e31])), 422),
        (npy(np.array([1.0, 1.0])), 422),
        (npy(np.array([EXAMPLE, EXAMPLE])), 422),
        (npy(np.array([{"a": 1}, 2], dtype=object)), 422),
    ],
)
def test_bad_arrays(client: httpx.Client, content: bytes, status: int) -> None:
    answer = client.post("/v1/spectrum/cycles", content=content, headers=NPY)
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.json()["errors"]


def test_kinds_of_numbers_and_versions(client: httpx.Client) -> None:
    expected = client.post("/v1/spectrum/cycles", json={"history_mpa": EXAMPLE}).json()["answer"]
    for kind in ("<f8", ">f8", "<f4", "<f2", "<i8", ">i2", "|i1"):
        content = npy(np.array(EXAMPLE, dtype=kind))
        assert client.post("/v1/spectrum/cycles", content=content, headers=NPY).json()["answer"] == expected
    stream = io.BytesIO()
    np.lib.format.write_array(stream, np.array([EXAMPLE]), version=(2, 0))
    answer = client.post("/v1/spectrum/cycles", content=stream.getvalue(), headers=NPY)
    assert answer.json()["answer"] == expected


def test_a_header_claims_no_memory() -> None:
    read = npy_body(lambda data, rows, names: None)
    tracemalloc.start()
    for body in (claiming(HEADER), claiming(HEADER, b"\0" * 4096)):
        with pytest.raises(Problem):
            read(body, {})
    assert tracemalloc.get_traced_memory()[1] < 1_000_000
    tracemalloc.stop()


def test_more_samples_than_are_taken_at_once() -> None:
    size = MAX_SAMPLES + 1
    body = claiming(f"{{'descr': '|i1', 'fortran_order': False, 'shape': ({size},), }}", bytes(size))
    with pytest.raises(Problem) as caught:
        npy_body(lambda data, rows, names: None)(body, {})
    assert caught.value.status == 413


@pytest.mark.parametrize(
    ("table", "query", "status"),
    [
        ("1\n2\n3\n", {}, 422),
        ("stress\n", {}, 422),
        ("stress,stress\n1,2\n", {}, 422),
        ("stress\n1\nx\n", {}, 422),
        ("a,b\n1,2\n3\n", {"columns": "a"}, 422),
        ("a;b\n1,5;2.5\n3,5;1.0\n", {"columns": "a"}, 422),
        ("stress\n1,234.5\n2,0\n", {}, 422),
        ("a,b\n1,2,3\n4,5,6\n", {"columns": "a"}, 422),
        ("a,b\n1,2\n3,4\n", {}, 422),
        ("a,b\n1,2\n3,4\n", {"columns": "c"}, 422),
        ("a,b\n1,2\n3,4\n", {"columns": "a,a"}, 422),
        ("stress\n1\nnan\n", {}, 422),
        ("stress\n1\ninf\n", {}, 422),
        ("stress\n1\n2\n", {"residue": "open"}, 422),
        ("stress\n1\n2\n", {"hysteresis_threshold_mpa": "-1"}, 422),
        ("stress\n1\n2\n", {"hysteresis_threshold_mpa": "[" * 2000}, 422),
        ("stress\n1\n2\n", {"nonsense": "1"}, 422),
        (b"\xff\xfe", {}, 400),
    ],
)
def test_bad_tables(client: httpx.Client, table: str | bytes, query: dict[str, str], status: int) -> None:
    answer = client.post("/v1/spectrum/cycles", params=query, content=table, headers=CSV)
    assert answer.status_code == status, answer.text
    assert answer.json()["errors"]


def test_rows_without_names_cannot_be_modes(client: httpx.Client) -> None:
    content = npy(np.array([EXAMPLE, EXAMPLE]))
    answer = client.post("/v1/spectrum/damage", params={"curve": CURVE}, content=content, headers=NPY)
    assert answer.json()["errors"][0]["pointer"] == "/columns"
    query = {"curve": CURVE, "columns": "a"}
    answer = client.post("/v1/spectrum/damage", params=query, content=content, headers=NPY)
    assert answer.json()["errors"][0]["pointer"] == "/columns"


@pytest.mark.parametrize(
    ("request_", "where"),
    [
        ({"history_mpa": [1.0]}, "/history_mpa"),
        ({"history_mpa": []}, "/history_mpa"),
        ({"history_mpa": [1.0, 1.0, 1.0]}, "/history_mpa"),
        ({"history_mpa": [1.0, "2"]}, "/history_mpa/1"),
        ({"history_mpa": EXAMPLE, "range_edges_mpa": [0.0, 1.0]}, "/range_edges_mpa"),
        ({"history_mpa": EXAMPLE, "range_edges_mpa": [9.0, 0.0]}, "/range_edges_mpa"),
        ({"history_mpa": EXAMPLE, "mean_edges_mpa": [5.0, 6.0]}, "/mean_edges_mpa"),
        ({"history_mpa": EXAMPLE, "hysteresis_threshold_mpa": 100.0}, "/hysteresis_threshold_mpa"),
        ({"history_mpa": EXAMPLE, "rule": "other"}, "/rule"),
    ],
)
def test_bad_counts(client: httpx.Client, request_: dict[str, Any], where: str) -> None:
    refused(client, "cycles", request_, where)


def refused(client: httpx.Client, name: str, request: dict[str, Any], where: str) -> None:
    answer = client.post(f"/v1/spectrum/{name}", json=request)
    assert answer.status_code == 422, answer.text
    assert where in {error["pointer"] for error in answer.json()["errors"]}


MODES = {"a": [0.0, 1.0, 0.0], "b": [0.0, 2.0, 1.0]}


@pytest.mark.parametrize(
    ("request_", "where"),
    [
        ({}, "/history_mpa"),
        ({"history_mpa": EXAMPLE, "range_mpa": [1.0], "count": [1.0]}, "/range_mpa"),
        ({"history_mpa": [3.0]}, "/history_mpa"),
        ({"history_mpa": [3.0, 3.0]}, "/history_mpa"),
        ({"history_mpa": [3.0, 4.0], "hysteresis_threshold_mpa": 2.0}, "/hysteresis_threshold_mpa"),
        ({"range_mpa": [0.0], "count": [1.0]}, "/range_mpa/0"),
        ({"range_mpa": [10.0], "count": [-1.0]}, "/count/0"),
        ({"range_mpa": [10.0], "count": [1.0, 2.0]}, "/count"),
        ({"range_mpa": [10.0]}, "/count"),
        ({"range_mpa": [10.0], "count": [1.0], "mean_stress": "compression-in-part"}, "/mean_stress"),
        ({"range_mpa": [10.0], "count": [1.0], "hysteresis_threshold_mpa": 1.0}, "/hysteresis_threshold_mpa"),
        (
            {"modes_mpa": MODES, "weights": {"a": 1.0, "b": 1.0}, "mean_stress": "compression-in-part"},
            "/mean_stress",
        ),
        (
            {"modes_mpa": MODES, "weights": {"a": 1.0, "b": 1.0}, "hysteresis_threshold_mpa": 1.0},
            "/hysteresis_threshold_mpa",
        ),
        ({"modes_mpa": MODES}, "/weights"),
        ({"modes_mpa": MODES, "weights": {"a": 1.0}}, "/weights/b"),
        ({"modes_mpa": {**MODES, "b": [0.0, 1.0]}, "weights": {"a": 1.0, "b": 1.0}}, "/modes_mpa/b"),
        ({"modes_mpa": {"a": [1.0, 1.0]}, "weights": {"a": 1.0}}, "/modes_mpa"),
        ({"modes_mpa": MODES, "weights": {"a": 0.0, "b": 0.0}}, "/weights"),
        (
            {"history_mpa": EXAMPLE, "damage_limit": 1.0, "damage_limit_rule": "iiw-2016/general"},
            "/damage_limit",
        ),
        ({"history_mpa": EXAMPLE, "damage_limit_rule": "nobody/general"}, "/damage_limit_rule"),
        ({"history_mpa": EXAMPLE, "design_fatigue_factor": 2.0}, "/design_fatigue_factor"),
        ({"history_mpa": EXAMPLE, "curve": "none"}, "/curve"),
        ({"history_mpa": EXAMPLE, "range_edges_mpa": [0.0, 1.0]}, "/range_edges_mpa"),
    ],
)
def test_bad_damage(client: httpx.Client, request_: dict[str, Any], where: str) -> None:
    refused(client, "damage", {"curve": CURVE, **request_}, where)


def answered(client: httpx.Client, request: dict[str, Any]) -> dict[str, Any]:
    answer = client.post("/v1/spectrum/damage", json={"curve": CURVE, **request})
    assert answer.status_code == 200, answer.text
    content: dict[str, Any] = answer.json()
    return content


HISTORY = [20.0 * value for value in EXAMPLE]


def test_passes_multiply_damage_and_move_the_equivalent_range_only_in_fixed_cycles(
    client: httpx.Client,
) -> None:
    once = answered(client, {"history_mpa": HISTORY, "reference_cycles": 2e6})["answer"]
    often = answered(client, {"history_mpa": HISTORY, "reference_cycles": 2e6, "repeats": 8.0})["answer"]
    assert often["damage"] == pytest.approx(8.0 * once["damage"])
    assert often["equivalent_range_mpa"] == pytest.approx(2.0 * once["equivalent_range_mpa"])
    assert often["life_repeats"] == once["life_repeats"]
    free = answered(client, {"history_mpa": HISTORY})["answer"]
    many = answered(client, {"history_mpa": HISTORY, "repeats": 8.0})["answer"]
    assert many["equivalent_range_mpa"] == free["equivalent_range_mpa"]
    assert many["reference_cycles"] == 8.0 * free["reference_cycles"]


def test_mean_stress_and_gate(client: httpx.Client) -> None:
    full = answered(client, {"history_mpa": HISTORY})["answer"]
    gated = answered(client, {"history_mpa": HISTORY, "hysteresis_threshold_mpa": 81.0})["answer"]
    assert gated["total_count"] < full["total_count"]
    for choice in ("compression-in-part", "low-residual-stress", "medium-residual-stress"):
        found = answered(client, {"history_mpa": HISTORY, "mean_stress": choice})
        assert found["answer"]["damage"] < full["damage"]
        assert len(found["record"]["sources"]) >= 2


def test_definitions_and_limits(client: httpx.Client) -> None:
    request = {
        "modes_mpa": MODES,
        "weights": {"a": 1.0, "b": 1.0},
        "damage_limit_rule": "dnv-rp-c203-2016/design",
    }
    found = answered(client, {**request, "design_fatigue_factor": 2.0, "definition": "path"})["answer"]
    assert found["damage_limit"] == 0.5
    assert set(found["definitions"]["damage"]) == {"governing", "independent", "path"}
    assert answered(client, {"history_mpa": HISTORY, "damage_limit": 0.3})["answer"]["damage_limit"] == 0.3


@pytest.mark.parametrize("rule", ["rainflow", "four-point", "range-pair", "simple-range"])
def test_indices_belong_to_the_given_history(client: httpx.Client, rule: str) -> None:
    history = [0.0, 0.1, *EXAMPLE, 0.0]
    request = {
        "history_mpa": history,
        "rule": rule,
        "hysteresis_threshold_mpa": 3.5,
        "range_edges_mpa": [0.0, 20.0],
    }
    answer = client.post("/v1/spectrum/cycles", json=request).json()["answer"]
    ends = zip(answer["start_index"], answer["end_index"], strict=True)
    assert answer["range_mpa"] == [abs(history[b] - history[a]) for a, b in ends]
    short = client.post("/v1/spectrum/cycles", json={**request, "list_cycles": False}).json()["answer"]
    assert short["range_mpa"] == []
    assert short["total_count"] == answer["total_count"]


def test_bad_random_and_long_term(client: httpx.Client) -> None:
    base = {"frequency_hz": [1.0, 10.0], "density_mpa2_per_hz": [1.0, 1.0], "duration_s": 1.0, "curve": CURVE}
    refused(client, "random", {**base, "density_mpa2_per_hz": [1.0]}, "/density_mpa2_per_hz")
    refused(client, "random", {**base, "density_mpa2_per_hz": [0.0, 0.0]}, "/density_mpa2_per_hz")
    refused(client, "random", {**base, "frequency_hz": [10.0, 1.0]}, "/frequency_hz")
    refused(client, "random", {**base, "curve": "none"}, "/curve")
    term = {"largest_range_mpa": 100.0, "reference_cycles": 1e8, "shape_exponent": 1.0, "curve": "none"}
    refused(client, "long-term", term, "/curve")
    refused(client, "steps", {"largest_range_mpa": 1.0, "cycles": 1.0, "shape_exponent": 1.0}, "/cycles")


def test_listed_cycles_and_classes_share_the_damage_as_the_curve_says(client: httpx.Client) -> None:
    """71 MPa at 2e6 cycles, slope 3 to the knee at 1e7 cycles, then 5."""
    ranges, count = [100.0, 200.0, 30.0], [1e4, 2e3, 4e5]
    knee = 71.0 * (2e6 / 1e7) ** (1 / 3)
    each = [n * (r / knee) ** (3 if r > knee else 5) / 1e7 for r, n in zip(ranges, count, strict=True)]
    shares = [value / sum(each) for value in each]
    request = {"curve": CURVE, "range_mpa": ranges, "count": count, "repeats": 3.0}
    asked = {"list_cycles": True, "range_edges_mpa": [0.0, 30.0, 150.0, 250.0]}
    answer = client.post("/v1/spectrum/damage", json={**request, **asked}).json()["answer"]
    assert answer["damage"] == pytest.approx(3.0 * sum(each), rel=1e-9)
    assert answer["damage_of_pass"] == pytest.approx(sum(each), rel=1e-9)
    assert answer["cycle_shares"]["range_mpa"] == ranges
    assert answer["cycle_shares"]["count"] == count
    assert answer["cycle_shares"]["cycle_share"] == pytest.approx(shares, rel=1e-9)
    assert answer["class_shares"]["range_edges_mpa"] == asked["range_edges_mpa"]
    assert answer["class_shares"]["damage_share"] == pytest.approx([shares[2], shares[0], shares[1]], rel=1e-9)
    plain = client.post("/v1/spectrum/damage", json=request).json()["answer"]
    assert (plain["cycle_shares"], plain["class_shares"]) == (None, None)
