"""Keys and their file: what an entry may say, in both forms, and what is said where it cannot be read."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest

from service.access import keys_file
from service.access.keys import digest_of, is_blank, new_key
from service.access.keys_file import KeyEntry, moment, read_keys_file
from service.access.scopes import allows
from service.base.problems import Problem
from service.cli import main

SHA = hashlib.sha256(b"abc").hexdigest()
ENTRY: dict[str, Any] = {"team": "frames", "sha256": SHA, "scopes": ["calculations"], "expires": "never"}


def written(folder: Path, content: str | bytes) -> str:
    path = folder / "keys"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return str(path)


def lines(*entries: dict[str, Any]) -> str:
    return "\n".join(json.dumps(entry) for entry in entries) + "\n"


def refused(path: str) -> str:
    with pytest.raises(Problem) as caught:
        read_keys_file(path)
    return "\n".join(caught.value.lines())


def test_a_key_is_random_and_stands_in_an_address_as_it_is() -> None:
    keys = {new_key() for _ in range(50)}
    assert len(keys) == 50
    assert all(key.startswith("tlk_") and len(key) == 47 for key in keys)  # 32 bytes in base 64
    assert all(part.isalnum() or part in "-_" for key in keys for part in key)


def test_a_key_is_stored_as_its_sha_256() -> None:
    # FIPS 180-4, example of one block
    assert digest_of("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_nothing_that_can_be_seen_is_no_key() -> None:
    assert all(map(is_blank, ("", " ", "\t", "\n", "\xa0", "\u2003", "\0", "\u200b", " \r\n")))
    assert not any(map(is_blank, ("a", " a", new_key())))


def test_tables_of_toml_and_lines_of_json_say_the_same(tmp_path: Path) -> None:
    table = f"""
    [[key]]
    team = "frames"
    sha256 = "{SHA}"
    scopes = ["check", "stress"]
    expires = 2027-06-30T00:00:00Z
    rate_per_s = 5
    burst = 100
    places = 2
    [[key]]
    team = "gates"
    sha256 = "{SHA}"
    scopes = ["metrics"]
    expires = "never"
    """
    first = {**ENTRY, "scopes": ["check", "stress"], "expires": "2027-06-30T02:00:00+02:00"}
    first |= {"rate_per_s": 5.0, "burst": 100, "places": 2}
    second = {**ENTRY, "team": "gates", "scopes": ["metrics"]}
    from_toml = read_keys_file(written(tmp_path, table))
    assert from_toml == read_keys_file(written(tmp_path, "\ufeff" + lines(first) + "\r\n\n" + lines(second)))
    assert from_toml[0].expires is not None
    assert from_toml[0].expires.timestamp() == 1814313600.0  # 20,999 days of 86,400 s after 1970-01-01
    assert from_toml[1] == KeyEntry(team="gates", sha256=SHA, scopes=["metrics"], expires="never")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"colour": "red"}, "unknown key. Allowed: burst, expires, places, rate_per_s, scopes, sha256, team"),
        ({"place": 1}, "unknown key, did you mean 'places'?"),
        ({"team": "a b"}, "must be a name of at most 64 letters"),
        ({"team": "a\n"}, "must be a name of at most 64 letters"),
        ({"team": ""}, "must be a name of at most 64 letters"),
        ({"team": "a" * 65}, "must be a name of at most 64 letters"),
        ({"team": 7}, "team must be a text"),
        ({"sha256": "tlk_0"}, "sha256 must be the SHA-256 of the key"),
        ({"sha256": SHA.upper()}, "sha256 must be the SHA-256 of the key"),
        ({"sha256": SHA + "\n"}, "sha256 must be the SHA-256 of the key"),
        # FIPS 180-4, the message of no bits; `printf %s "$UNSET" | sha256sum` and `echo "$UNSET" | sha256sum`
        (
            {"sha256": "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
            "sha256 must be the SHA-256 of a key, and this is that of no key",
        ),
        *(
            ({"sha256": digest_of(blank)}, "this is that of no key")
            for blank in (" ", "\n", "\t", "\r\n", " " * 40, "''")
        ),
        *(
            ({"sha256": digit * 64}, "sha256 must be the SHA-256 of a key, and this is that of no key")
            for digit in "0f"
        ),
        ({"scopes": []}, "scopes must hold at least 1 entry"),
        ({"scopes": ["chek"]}, "(did you mean 'check'?)"),
        ({"scopes": ["*"]}, "scopes must hold calculations, metrics, topics and names of calculations only"),
        ({"scopes": "check"}, "scopes must be a list"),
        ({"expires": None}, "must be a date and time with its offset"),
        ({"expires": "2027-06-30"}, "must be a date and time with its offset"),
        ({"expires": "2027-06-30T00:00:00"}, "must be a date and time with its offset"),
        ({"expires": "soon"}, "must be a date and time with its offset"),
        ({"expires": "0001-01-01T00:00:00+14:00"}, "must be a date and time with its offset"),
        ({"expires": 1814313600}, "must be a date and time with its offset"),
        ({"rate_per_s": 0}, "rate_per_s must be 0.001 or more"),
        ({"rate_per_s": 1e7}, "or less"),
        ({"burst": 0}, "burst must be 1 or more"),
        ({"burst": 1.5}, "burst must be a whole number"),
        ({"places": 0}, "places must be 1 or more"),
        ({"places": 10_001}, "or less"),
        ({"places": True}, "places must be a whole number"),
    ],
)
def test_what_an_entry_may_not_say_is_refused_with_its_place(tmp_path: Path, change: dict[str, Any], said: str) -> None:
    told = refused(written(tmp_path, lines(ENTRY, {**ENTRY, **change})))
    assert told.startswith(f"{tmp_path}/keys, line 2: ")
    assert said in told
    assert "tlk_" not in told
    assert "chek" not in told


@pytest.mark.parametrize("name", sorted(ENTRY))
def test_what_an_entry_must_say_is_asked_for(tmp_path: Path, name: str) -> None:
    left = {key: value for key, value in ENTRY.items() if key != name}
    assert refused(written(tmp_path, lines(left))) == f"{tmp_path}/keys, line 1: {name} is needed"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "holds no key"),
        ("# nobody yet\n", "holds no key"),
        ("key = []\n", "holds no key"),
        ("key = 1\n", "has tables [[key]] and nothing else"),
        ("[[keys]]\n", "has tables [[key]] and nothing else"),
        ("[[key]]\nteam = a\n", "is not TOML: line 2"),
        ("key = " + "[" * 5_000, "is nested too deeply"),
        (lines(ENTRY) + "team\n", "keys, line 2 is not JSON"),
        (lines(ENTRY) + "[1]\n", "keys, line 2: "),
        ('{"team": "a", "team": "b"}', "more than once"),
        ("[[key]]\nteam = 'a'\n", "key 1: sha256 is needed"),
        (b"\xff", "is not UTF-8 text (byte 0)"),
    ],
)
def test_a_file_that_holds_something_else_is_named(tmp_path: Path, content: str | bytes, said: str) -> None:
    told = refused(written(tmp_path, content))
    assert said in told
    assert f"{tmp_path}/keys" in told


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    path = str(tmp_path / "none")
    assert refused(path) == f"the file of keys cannot be read: {path}: No such file or directory"


def test_a_file_has_a_largest_size_and_number_of_keys(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = written(tmp_path, lines(ENTRY, ENTRY))
    monkeypatch.setattr(keys_file, "MAX_KEYS", 2)
    assert len(read_keys_file(path)) == 2
    monkeypatch.setattr(keys_file, "MAX_KEYS", 1)
    assert refused(path) == f"{path} may hold 1 keys, not 2"
    size = len(Path(path).read_bytes())
    monkeypatch.setattr(keys_file, "MAX_BYTES", size)
    assert "may hold" in refused(path)
    monkeypatch.setattr(keys_file, "MAX_BYTES", size - 1)
    assert refused(path) == f"{path}: more than {size - 1} bytes"
    assert (keys_file.MAX_KEYS, moment("never")) == (1, None)


@pytest.mark.parametrize(
    ("scopes", "allowed"),
    [
        ({"calculations"}, {"check", "stress/peak", "batch"}),
        ({"stress"}, {"stress/peak", "batch"}),
        ({"stress/peak", "metrics"}, {"stress/peak", "batch", "metrics"}),
        ({"metrics"}, {"metrics"}),
        ({"check", "stress/section"}, {"check", "batch"}),
    ],
)
def test_a_scope_lets_through_what_it_names(scopes: set[str], allowed: set[str]) -> None:
    names = {"check", "stress/peak", "batch", "metrics"}
    assert {name for name in names if allows(scopes, name)} == allowed


@pytest.mark.parametrize("form", [(), ("--toml",)])
def test_the_command_prints_a_key_once_and_an_entry_that_the_file_takes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], form: tuple[str, ...]
) -> None:
    limits = ("--rate-per-s", "0.5", "--burst", "3", "--places", "2")
    asked = ("--team", "frames", "--scope", "check", "--scope", "stress", "--expires", "2527-06-30T00:00:00Z", *limits)
    assert main(["key", "new", *asked, *form]) == 0
    shown = capsys.readouterr()
    (key,) = [line for line in shown.err.splitlines() if line.startswith("tlk_")]
    assert key not in shown.out
    assert main(["key", "new", "--team", "gates", *form]) == 0
    first, second = read_keys_file(written(tmp_path, shown.out + capsys.readouterr().out))
    assert (first.team, first.sha256, first.scopes) == ("frames", digest_of(key), ["check", "stress"])
    assert (first.rate_per_s, first.burst, first.places) == (0.5, 3, 2)
    assert first.expires == moment("2527-06-30T00:00:00Z")
    assert (second.scopes, second.rate_per_s, second.places) == (["calculations"], None, None)
    assert second.expires is not None


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (("--team", "a b"), "the key: team must be a name"),
        (("--team", "a", "--scope", "chek"), "(did you mean 'check'?)"),
        (("--team", "a", "--expires", "tomorrow"), "expires must be a date and time"),
        (("--team", "a", "--places", "0"), "places must be 1 or more"),
        (("--team", "a", "--expires", "2020-01-01T00:00:00Z"), "the key: it would be refused from the start"),
        (("--team", "a", "--burst", "5"), "the key: --burst goes with --rate-per-s"),
    ],
)
def test_the_command_makes_no_key_whose_entry_would_be_refused(
    capsys: pytest.CaptureFixture[str], asked: tuple[str, ...], said: str
) -> None:
    assert main(["key", "new", *asked]) == 2
    shown = capsys.readouterr()
    assert said in shown.err
    assert "tlk_" not in shown.err + shown.out
