"""Options of the command line: what is left out, what is given, and which do not go together, command by command."""

from __future__ import annotations

import argparse
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from service.base.problems import Problem
from service.cli import parser
from service.client import client
from service.commands import gate, look_up, remote, spectrum
from service.gate.baseline import Baseline

LEFT_OUT: dict[str, dict[str, Any]] = {
    "check f": {"fitted": [], "file": "f", "json": False, "output": None, "findings": False, "csv": None},
    "lines": {
        **dict.fromkeys(("file", "map", "table", "length_factor", "symmetry", "picture", "output")),
        **dict.fromkeys(("list", "keys", "json"), False),
    },
    "count f": {
        "fitted": [],
        "files": ["f"],
        "json": False,
        **dict.fromkeys(("columns", "residue", "hysteresis_threshold_mpa", "request", "rule", "classes")),
    },
    "damage f": {
        "fitted": [],
        "files": ["f"],
        "json": False,
        **dict.fromkeys(("columns", "residue", "hysteresis_threshold_mpa", "request", "weights", "curve")),
        **dict.fromkeys(("repeats", "damage_limit", "damage_limit_rule", "design_fatigue_factor")),
    },
    "grow f": {"fitted": [], "file": "f", "json": False},
    "report f": {
        "fitted": [],
        "file": "f",
        "suffix": ".html",
        **dict.fromkeys(("output", "calculation", "mesh", "length_factor", "baseline")),
    },
    "picture f": {"file": "f", "suffix": ".svg", **dict.fromkeys(("output", "symmetry", "mesh", "length_factor"))},
    "gate c": {
        "checks": ["c"],
        "fitted": [],
        "limit": 1.0,
        "growth_pct": 0.0,
        "growth_floor": 0.5,
        "accept": [],
        **dict.fromkeys(("baseline", "because", "junit", "markdown", "reports", "server")),
        **dict.fromkeys(("write_baseline", "accept_vanished", "json", "stamp"), False),
        "timeout": 300.0,
        "jobs": 1,
    },
    "batch f": {"file": "f", "output": None, "anew": False, "server": None, "timeout": 300.0, "jobs": 1, "fitted": []},
    "demo": {"files": None},
    "curves": {"curve": None, "json": False, **dict.fromkeys(look_up.FILTERS)},
    "findings": {"code": None},
    "validate": {"json": False},
    "calculate n f": {"calculation": "n", "file": "f", "fitted": []},
    "serve": {"host": "127.0.0.1", "port": 8000, "workers": 1},
}
GIVEN: dict[str, dict[str, Any]] = {
    "check f --json -o a --findings": {"json": True, "output": "a", "findings": True},
    "lines f --map m --table t --list --keys --json -o a": {
        "file": "f",
        "map": "m",
        "table": "t",
        "output": "a",
        "list": True,
        "keys": True,
        "json": True,
    },
    "lines f --length-factor 2.5 --symmetry x=0 --symmetry y=0 --picture p": {
        "file": "f",
        "length_factor": 2.5,
        "symmetry": ["x=0", "y=0"],
        "picture": "p",
    },
    "count f g --column a --residue half --hysteresis-threshold-mpa 2 --request r --json --rule rainflow --classes 9": {
        "files": ["f", "g"],
        "columns": "a",
        "residue": "half",
        "hysteresis_threshold_mpa": 2.0,
        "request": "r",
        "json": True,
        "rule": "rainflow",
        "classes": 9,
    },
    "damage f --columns a,b --residue closed --weights a=1,b=2.5 --curve c --repeats 3 --damage-limit 0.5": {
        "columns": "a,b",
        "residue": "closed",
        "weights": '{"a": 1.0, "b": 2.5}',
        "curve": "c",
        "repeats": 3.0,
        "damage_limit": 0.5,
    },
    "damage f --damage-limit-rule iiw-2016/general --design-fatigue-factor 2": {
        "damage_limit_rule": "iiw-2016/general",
        "design_fatigue_factor": 2.0,
    },
    "grow f --json": {"json": True},
    "report f -o a --calculation check --mesh m --length-factor 2 --baseline b": {
        "output": "a",
        "baseline": "b",
        "calculation": "check",
        "mesh": "m",
        "length_factor": 2.0,
    },
    "picture f -o a --symmetry x=0 --mesh m --length-factor 2": {
        "output": "a",
        "symmetry": ["x=0"],
        "mesh": "m",
        "length_factor": 2.0,
    },
    "gate c d --limit 0.9 --baseline b --growth-pct 2 --growth-floor 0.4 --accept a --accept b --because t": {
        "checks": ["c", "d"],
        "limit": 0.9,
        "baseline": "b",
        "growth_pct": 2.0,
        "growth_floor": 0.4,
        "accept": ["a", "b"],
        "because": "t",
    },
    "gate c --junit j --markdown m --reports r --json --stamp --write-baseline --accept-vanished --server s --timeout 9"
    " --jobs 4": {
        "junit": "j",
        "markdown": "m",
        "reports": "r",
        "json": True,
        "stamp": True,
        "write_baseline": True,
        "accept_vanished": True,
        "server": "s",
        "timeout": 9.0,
        "jobs": 4,
    },
    "batch f -o a --anew --server s --timeout 9 --jobs 4": {
        "output": "a",
        "anew": True,
        "server": "s",
        "timeout": 9.0,
        "jobs": 4,
    },
    "curves c --json": {"curve": "c", "json": True},
    "curves --kind a --material b": {"kind": "a", "material": "b"},
    "findings c": {"code": "c"},
    "validate --json": {"json": True},
    "serve --host h --port 9 --workers 3": {"host": "h", "port": 9, "workers": 3},
}


OBEYS_NOTHING = {"compare", "findings", "key", "lines", "validate"}  # calculate nothing of a request
LATER: dict[str, dict[str, Any]] = {
    "check": {"with_request": False},
    "gate": {"merge": False, "part": None, "shard": None},
    "batch": {"dask": None, "merge": None, "shard": None},
    "serve": {"no_keys": False},
}


def parsed(words: str) -> dict[str, Any]:
    found = vars(parser().parse_args(words.split()))
    return {name: value for name, value in found.items() if name not in ("run", "command")}


@pytest.mark.parametrize("words", LEFT_OUT)
def test_options_left_out(words: str) -> None:
    obeys = words.split()[0] not in OBEYS_NOTHING
    later = LATER.get(words.split()[0], {})
    assert parsed(words) == {**LEFT_OUT[words], **later, **({"policy": None} if obeys else {})}


@pytest.mark.parametrize("words", GIVEN)
def test_options_given(words: str) -> None:
    found = parsed(words)
    assert {name: found[name] for name in GIVEN[words]} == GIVEN[words]


@pytest.mark.parametrize(
    "words", ["check", "count", "damage", "grow", "report", "picture", "gate", "batch", "calculate n"]
)
def test_a_command_says_which_file_it_needs(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as refused:
        parser().parse_args(words.split())
    assert refused.value.code == 2
    assert "the following arguments are required" in capsys.readouterr().err


# factors of columns


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("=1,b=2", "each column once"),
        ("a=1,=2", "each column once"),
        ("=1", "each column once"),
        ("a", "each column once"),
        ("a=1, a=2", "each column once"),
        ("a=x", "no number"),
        ("a=", "no number"),
    ],
)
def test_factors_of_columns_that_cannot_be_are_refused(text: str, message: str) -> None:
    with pytest.raises(argparse.ArgumentTypeError, match=message):
        spectrum._weights(text)


def test_factors_belong_to_the_name_before_the_last_sign() -> None:
    assert spectrum._weights(" a=b =-1.5,c=2e1") == '{"a=b": -1.5, "c": 20.0}'


# a service and workers


@pytest.mark.parametrize(
    ("asked", "tasks", "expected"), [(1, 10, 1), (5, 10, 5), (10, 10, 10), (60, 4, 4), (3, 0, 1), (0, 10, 7), (0, 2, 2)]
)
@pytest.mark.parametrize("server", [None, "http://service"])
def test_workers_are_no_more_than_the_tasks(
    monkeypatch: pytest.MonkeyPatch, asked: int, tasks: int, expected: int, server: str | None
) -> None:
    monkeypatch.setattr(remote, "cores", lambda: 7)
    monkeypatch.setattr(remote, "several", lambda jobs, *, of_server: (jobs, of_server))
    assert remote.workers(argparse.Namespace(jobs=asked, server=server), tasks) == (expected, server is not None)


@pytest.mark.parametrize("asked", [-1, 61])
def test_other_numbers_of_workers_are_refused(asked: int) -> None:
    with pytest.raises(Problem) as refused:
        remote.workers(argparse.Namespace(jobs=asked, server=None), 5)
    assert refused.value.detail == "--jobs takes a whole number from 0 (all cores) to 60"


def connected(monkeypatch: pytest.MonkeyPatch, server: str, timeout: float) -> Any:
    monkeypatch.setattr(client, "Client", lambda url, **rest: SimpleNamespace(url=url, **rest))
    return remote.connect(argparse.Namespace(server=server, timeout=timeout))


@pytest.mark.parametrize(("key", "sent"), [("secret", "secret"), ("", None), (None, None)])
def test_a_service_is_asked_with_the_key_of_the_environment(
    monkeypatch: pytest.MonkeyPatch, key: str | None, sent: str | None
) -> None:
    monkeypatch.delenv("TOELINE_API_KEY", raising=False)
    if key is not None:
        monkeypatch.setenv("TOELINE_API_KEY", key)
    found = connected(monkeypatch, "https://service", 0.005)
    assert (found.url, found.api_key, found.timeout_s) == ("https://service", sent, 0.005)
    assert connected(monkeypatch, "http://service", 300.0).timeout_s == 300.0


@pytest.mark.parametrize(
    ("server", "timeout", "message"),
    [
        ("http://service", 0.0, "--timeout takes a positive number of seconds"),
        ("http://service", float("nan"), "--timeout takes a positive number of seconds"),
        ("ftp://service", 1.0, "--server takes an address like http://127.0.0.1:8000, not 'ftp://service'"),
    ],
)
def test_a_service_without_an_address_or_time_is_refused(
    monkeypatch: pytest.MonkeyPatch, server: str, timeout: float, message: str
) -> None:
    with pytest.raises(Problem) as refused:
        connected(monkeypatch, server, timeout)
    assert refused.value.detail == message


# the gate


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("", None),
        ("--limit 0.5 --growth-floor 0.2", None),
        ("--baseline b", None),
        ("--growth-pct 0", None),
        ("--baseline b --growth-pct 2 --accept-vanished", None),
        ("--baseline b --write-baseline", None),
        ("--baseline b --write-baseline --because t", None),
        ("--baseline b --accept a --because t", None),
        ("--write-baseline", "--write-baseline needs --baseline FILE"),
        ("--growth-pct 2", "--growth-pct needs --baseline FILE"),
        ("--accept-vanished --growth-pct 1", "--growth-pct and --accept-vanished need --baseline FILE"),
        ("--accept a --because t", "--accept needs --baseline FILE"),
        (
            "--baseline b --accept a --write-baseline --because t",
            "--accept and --write-baseline do not go together: name what is accepted",
        ),
        ("--baseline b --accept a", "--accept CHECK[:LINE] needs --because TEXT"),
        ("--baseline b --because t", "--because TEXT goes with --accept CHECK[:LINE] or --write-baseline"),
        ("--because t", "--because TEXT goes with --accept CHECK[:LINE] or --write-baseline"),
    ],
)
def test_options_of_the_gate_that_do_not_go_together(words: str, message: str | None) -> None:
    given = parser().parse_args(["gate", "c", *words.split()])
    if message is None:
        gate._guard(given)
        return
    with pytest.raises(Problem) as refused:
        gate._guard(given)
    assert refused.value.detail == message


def test_a_baseline_that_is_to_be_written_need_not_be_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    stored = Baseline(folder=Path("read"))
    monkeypatch.setattr(gate.baseline, "read", lambda path: (path, stored))
    file = tmp_path / "b.json"

    def found(*words: str) -> Any:
        return gate._stored(parser().parse_args(["gate", "c", *words]))

    assert found() is None
    assert found("--baseline", str(file)) == (file, stored)
    assert found("--baseline", str(file), "--write-baseline") == Baseline(folder=tmp_path)
    file.write_text("")
    assert found("--baseline", str(file), "--write-baseline") == (file, stored)
