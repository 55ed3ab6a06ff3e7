"""toeline count, damage, grow: histories in files, texts, exit codes."""

from __future__ import annotations

import io
import json
from pathlib import Path

import httpx
import numpy as np
import pytest

from service import cli
from service.base import progress

EXAMPLES = Path(__file__).parents[2] / "openapi_examples"
HISTORY = [-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0]


@pytest.fixture
def files(tmp_path: Path) -> dict[str, str]:
    values = 10.0 * np.array(HISTORY)
    np.save(tmp_path / "history.npy", values)
    lines = ["time,stress", *(f"{index},{value}" for index, value in enumerate(values))]
    (tmp_path / "history.csv").write_text("\n".join(lines), encoding="utf-8")
    request = {"history_mpa": values.tolist(), "curve": "iiw-2016-normal-steel-71"}
    (tmp_path / "damage.json").write_text(json.dumps(request), encoding="utf-8")
    return {name: str(tmp_path / name) for name in ("history.npy", "history.csv", "damage.json")}


def test_count_of_npy_and_csv_agree(files: dict[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    """The standard's reference history times 10: 4 cycles, largest range 90."""
    assert cli.main(["count", files["history.npy"], "--residue", "half"]) == 0
    first = capsys.readouterr().out.split("\n", 1)[1]
    assert "cycles         4" in first
    assert "90 MPa" in first
    assert cli.main(["count", files["history.csv"], "--columns", "stress", "--residue", "half"]) == 0
    assert capsys.readouterr().out.split("\n", 1)[1] == first


def test_count_as_json_is_the_answer_of_the_service(
    client: httpx.Client, files: dict[str, str], capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    assert cli.main(["count", files["history.npy"], "--json", "--classes", "9"]) == 0
    served = client.post(
        "/v1/spectrum/cycles?classes=9&list_cycles=false",
        content=Path(files["history.npy"]).read_bytes(),
        headers={"content-type": "application/x-npy"},
    )
    assert capfdbinary.readouterr().out == served.content + b"\n"


def test_damage_and_its_exit_code(files: dict[str, str], capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["damage", files["history.csv"], "--columns", "stress", "--curve", "iiw-2016-normal-steel-71"]
    assert cli.main([*arguments, "--repeats", "1000"]) == 0
    assert "equivalent range" in capsys.readouterr().out
    assert cli.main([*arguments, "--repeats", "1e9"]) == 1
    assert cli.main(["damage", files["damage.json"]]) == 0
    assert cli.main(["damage", files["damage.json"], "--repeats", "3"]) == 2
    assert "write what --repeats would say into it" in capsys.readouterr().err
    assert cli.main(["damage", files["history.npy"]]) == 2


def test_several_files_with_a_bar(
    files: dict[str, str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    out = Terminal()
    monkeypatch.setattr(progress.sys, "stderr", out)
    assert cli.main(["count", files["history.npy"], files["history.npy"]]) == 0
    assert "100 % of 2" in out.getvalue()
    assert capsys.readouterr().out.count("largest range") == 2


def test_grow_shows_life_and_history(capsys: pytest.CaptureFixture[str]) -> None:
    shared = EXAMPLES / "cracks" / "growth-bracket-toe-shared.json"
    assert cli.main(["grow", str(shared)]) == 0
    text = capsys.readouterr().out
    for part in ("load sharing", "load share", "delta K", "times the life"):
        assert part in text
    assert cli.main(["grow", str(EXAMPLES / "cracks" / "growth-bracket-toe-alone.json"), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["answer"]["life_extension_factor"] is None
    assert cli.main(["grow", str(EXAMPLES / "cracks" / "growth-tabled.json")]) == 0


def test_check_shows_the_growth_beside_its_life(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["check", str(EXAMPLES / "check" / "bracket-toe-growth.json")]) == 0
    text = capsys.readouterr().out
    assert "crack at R2N_toe_plate" in text
    assert "not to be added" in text
