"""Decks of keywords: nothing of them vanishes, nothing takes more than they are worth, what is right is read."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import pytest

from fatcore.errors import InputError
from service.mesh.layout import Search
from service.mesh.listing import listing, listing_text
from service.mesh.mapping import search
from service.mesh.naming import _nodes_of_set
from service.mesh.raw import RawMesh
from service.mesh.stated import guard_stated
from tests.api.test_mesh_files_by_hand import BOTH, DECK, NODES, ONE, TWO, elements, read
from tests.api.test_mesh_stated import layout

ELEMENTS = DECK[len(NODES) :]


def deck(folder: Path, text: str) -> RawMesh:
    return read(folder, text, "a.inp")


def refusal(folder: Path, text: str) -> str:
    with pytest.raises(InputError) as refused:
        deck(folder, text)
    assert refused.value.path == ("mesh",)
    return str(refused.value)


def sets(raw: RawMesh) -> dict[str, list[int]]:
    return {name: nodes.tolist() for name, nodes in raw.node_sets.items()}


# rows that vanish


def test_a_mark_of_the_encoding_hides_no_keyword(tmp_path: Path) -> None:
    assert elements(deck(tmp_path, f"\ufeff{ELEMENTS}{NODES}")) == BOTH
    (tmp_path / "more.inp").write_text(f"\ufeff{ELEMENTS}", encoding="utf-8")
    assert elements(deck(tmp_path, f"{NODES}*INCLUDE, INPUT=more.inp\n")) == BOTH


@pytest.mark.parametrize("row", [ONE, "title\n"])
def test_rows_without_a_keyword_are_refused(tmp_path: Path, row: str) -> None:
    assert "rows without a keyword above them: " + repr(row.strip()) in refusal(tmp_path, row + DECK)


@pytest.mark.parametrize(
    ("key", "row"), [("*ELEMENT, TYPE=C3D4", ONE), ("*NODE", "9, 9, 9, 9\n"), ("*NSET, NSET=A", "1\n")]
)
def test_a_row_among_the_options_is_refused(tmp_path: Path, key: str, row: str) -> None:
    found = refusal(tmp_path, f"{DECK}{key},\n{row}")
    assert f"a row stands among the options of {key.partition(',')[0]}, below a comma at the end of a line: " in found


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("ELEM", "ELEMENT"),
        ("ELEMENTS", "ELEMENT"),
        ("ELEMNT", "ELEMENT"),
        ("ELEEMNT", "ELEMENT"),
        ("ELAMENT", "ELEMENT"),
        ("NODES", "NODE"),
        ("NOD", "NODE"),
        ("INCLU", "INCLUDE"),
        ("NSETT", "NSET"),
        ("NGENN", "NGEN"),
        ("MODEL CHANG", "MODEL CHANGE"),
        ("INST", "INSTANCE"),
    ],
)
def test_keywords_that_are_abbreviated_or_misspelt_are_refused(tmp_path: Path, word: str, meant: str) -> None:
    assert f"is nearly *{meant}: write keywords in full" in refusal(tmp_path, f"{DECK}*{word}, X=1\n")


OTHERS = [
    "NODE PRINT",
    "NODE FILE",
    "EL PRINT",
    "ELEMENT OUTPUT",
    "ELSET",
    "STEP",
    "END STEP",
    "MATERIAL",
    "ELASTIC",
    "NORMAL",
    "NODAL THICKNESS",
    "MASS",
    "MEMBRANE SECTION",
    "INITIAL CONDITIONS",
    "AMPLITUDE",
    "RESTART",
    "SURFACE",
    "BOUNDARY",
    "CLOAD",
    "END PART",
    "PRE-TENSION SECTION",
]


@pytest.mark.parametrize("word", OTHERS)
def test_keywords_of_other_things_are_passed_over(tmp_path: Path, word: str) -> None:
    assert elements(deck(tmp_path, f"{DECK}*{word}, X=Y\n1, 2\n")) == BOTH


@pytest.mark.parametrize("word", ["*ELEMENT TYPE=C3D4", "*ELEMENT;TYPE=C3D4"])
def test_a_keyword_has_a_comma_before_its_options(tmp_path: Path, word: str) -> None:
    assert "has no comma before its options" in refusal(tmp_path, DECK.replace("*ELEMENT, TYPE=C3D4", word))


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("*NSET, NSET=A, GEN\n1, 5\n", "option GEN of *NSET is nearly GENERATE"),
        ("*NODE, SYSTM=C\n7, 0, 0, 0\n", "option SYSTM of *NODE is nearly SYSTEM"),
        ("*ELEMENT, TYP=C3D4\n", "option TYP of *ELEMENT is nearly TYPE"),
        ("*INCLUDE, INP=more.inp\n", "option INP of *INCLUDE is nearly INPUT"),
    ],
)
def test_options_that_are_abbreviated_or_misspelt_are_refused(tmp_path: Path, line: str, message: str) -> None:
    assert f"{message}: write options in full" in refusal(tmp_path, DECK + line)


@pytest.mark.parametrize("row", ["6, 1_0, 0, 0", "6, nan, 0, 0", "6, inf", "6, \u0661, 0, 0", "x, 0, 0, 0"])
def test_rows_have_numbers_as_they_are_written_by_hand(tmp_path: Path, row: str) -> None:
    assert f"below *NODE a row is no list of numbers: {row!r}" in refusal(tmp_path, f"{DECK}*NODE\n{row}\n")
    assert "a row is no list of numbers" in refusal(tmp_path, DECK.replace(TWO, "2, 2, 3, 4, 0_5\n"))


def test_a_node_has_three_coordinates_and_a_normal(tmp_path: Path) -> None:
    assert deck(tmp_path, f"{DECK}*NODE\n6, 1, 2, 3, 0.6, 0, -0.8\n7, 1, , , , ,\n").points[5:].tolist() == [
        [1, 2, 3],
        [1, 0, 0],
    ]
    for row in ("6, -20,0, 0,0, -8,0", "6, 1,5, 2, 3", "6, 1, 2, 3, 0, 0, 1, 0"):
        assert "a node has more numbers than three coordinates and a normal" in refusal(
            tmp_path, f"{DECK}*NODE\n{row}\n"
        )


# what turns results and moves nodes


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("*SOLID SECTION, ELSET=E, ORIENTATION=O\n", "stresses-may-be-local"),
        ("*SOLID SECTION, ELSET=E, ORIENT=O\n", "stresses-may-be-local"),
        ("*TRANSFORM, NSET=A, TYPE=C\n0, 0, 0, 0, 0, 1\n", "stresses-may-be-local"),
        ("*IMPERFECTION, FILE=x, STEP=1\n1, 0.1\n", "nodes-may-be-moved"),
        ("*ADAPTIVE MESH, ELSET=E\n", "nodes-may-be-moved"),
        ("*TIE, NAME=T\nA, B\n", "nodes-may-be-moved"),
        ("*CONTACT PAIR, ADJUST=0.1\nA, B\n", "nodes-may-be-moved"),
    ],
)
def test_turned_results_and_moved_nodes_are_said_wherever_the_mesh_goes(tmp_path: Path, line: str, code: str) -> None:
    raw = deck(tmp_path, DECK + line + line)
    (doubt,) = raw.doubts
    assert (doubt.code, doubt.severity) == (code, "caution")
    assert doubt.message.startswith(f"the deck has *{line[1:].partition(',')[0]}")
    assert guard_stated(raw, layout(cases={})) == (doubt,)
    found = search(raw, 1.0, [], Search())
    assert listing(raw, found)["findings"][-1]["code"] == code
    assert f"[{code}]" in listing_text(raw, found, 1.0)


@pytest.mark.parametrize(
    "line",
    [
        "*SOLID SECTION, ELSET=E, MATERIAL=O\n",
        "*SHELL SECTION, ELSET=E, ORIENTATION=O\n",
        "*ORIENTATION, NAME=O\n1, 0, 0, 0, 1, 0\n",
        "*TIE, NAME=T, ADJUST=NO\nA, B\n",
        "*CONTACT PAIR, INTERACTION=I\nA, B\n",
    ],
)
def test_what_turns_and_moves_nothing_of_a_solid_is_passed_over(tmp_path: Path, line: str) -> None:
    assert deck(tmp_path, DECK + line).doubts == ()


# numbers and sets that are too large


def test_numbers_beyond_those_that_go_through_json_are_refused(tmp_path: Path) -> None:
    assert deck(tmp_path, f"{DECK}*NODE\n{2**53}, 0, 0, 0\n").node_id[-1] == 2**53
    for number in (0, -1, 2**53 + 1, 10**20):
        assert "is none from 1 to 2^53" in refusal(tmp_path, f"{DECK}*NODE\n{number}, 0, 0, 0\n")
        assert "is none from 1 to 2^53" in refusal(tmp_path, f"{DECK}*ELEMENT, TYPE=C3D4\n3, 1, 2, 3, {number}\n")
        assert "is none from 1 to 2^53" in refusal(tmp_path, f"{DECK}*ELEMENT, TYPE=C3D4\n{number}, 1, 2, 3, 5\n")
    assert "which the deck does not have" in refusal(tmp_path, f"{DECK}*NSET, NSET=A\n{10**20}\n")


def test_chains_of_sets_are_followed_to_their_end(tmp_path: Path) -> None:
    chain = "".join(f"*NSET, NSET=S{at}\nS{at + 1}, S{at + 1}\n" for at in range(3000))
    start = time.process_time()
    found = deck(tmp_path, f"{DECK}{chain}*NSET, NSET=S3000\n2, 1, 2\n").node_sets
    assert (len(found), found["S0"].tolist()) == (3001, [1, 0])
    assert time.process_time() - start < 5.0


def test_a_set_that_names_each_other_set_before_and_behind_it(tmp_path: Path) -> None:
    text = "*NSET, NSET=A\nB, C, 1\n*NSET, NSET=B\nC\n*NSET, NSET=C\n5, 4\n"
    assert sets(deck(tmp_path, DECK + text)) == {"A": [4, 3, 0], "B": [4, 3], "C": [4, 3]}
    assert "set 'C' names 'A', which is no other set, or holds it in turn" in refusal(
        tmp_path, DECK + text.replace("5, 4", "A")
    )


def test_a_row_of_nodes_is_no_longer_than_the_deck_before_it_is_written_out(tmp_path: Path) -> None:
    assert sets(deck(tmp_path, f"{DECK}*NSET, NSET=A, GENERATE\n1, 5, 1\n")) == {"A": [0, 1, 2, 3, 4]}
    found = refusal(tmp_path, f"{DECK}*NSET, NSET=A, GENERATE\n1, 2000000000, 1\n")
    assert "set 'A' generates more nodes than the deck has" in found
    assert "no list of numbers" in refusal(tmp_path, f"{DECK}*NSET, NSET=A, GENERATE\n1, 5, 0\n")


def test_sets_have_so_many_members_together(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = f"{DECK}*NSET, NSET=A\n1, 2\n*NSET, NSET=B\nA, 3\n"
    monkeypatch.setattr("service.mesh.formats.deck_sets._MOST_MEMBERS", 5)
    assert len(deck(tmp_path, text).node_sets) == 2
    monkeypatch.setattr("service.mesh.formats.deck_sets._MOST_MEMBERS", 4)
    assert "more than 4 members together" in refusal(tmp_path, text)


# what is right


def test_names_of_sets_stand_in_quotes_and_in_letters_of_any_size(tmp_path: Path) -> None:
    text = (
        '*NSET, NSET="the toe"\n1\n*NSET, NSET=The Toe\n2\n*NSET, NSET=all\n"THE TOE", 5\n*NODE, NSET=ALL\n6, 9, 9, 9\n'
    )
    raw = deck(tmp_path, DECK + text)
    assert sets(raw) == {"the toe": [0, 1], "all": [0, 1, 4, 5]}
    for name in ("the toe", "THE TOE"):
        assert _nodes_of_set(raw, name).tolist() == [0, 1]
    with pytest.raises(InputError, match="no node set 'toe'; it has all, the toe"):
        _nodes_of_set(raw, "toe")


def test_a_set_by_its_exact_name_goes_before_others(tmp_path: Path) -> None:
    raw = deck(tmp_path, f"{DECK}*NSET, NSET=A\n1\n*NSET, NSET=B\n2\n")
    both = replace(raw, node_sets=dict(zip("aA", raw.node_sets.values(), strict=True)))
    assert _nodes_of_set(both, "A").tolist() == [1]
    odd = replace(raw, node_sets={"ab": raw.node_id, "aB": raw.node_id})
    with pytest.raises(InputError, match="no node set 'AB'"):
        _nodes_of_set(odd, "AB")


def test_a_set_of_the_nodes_of_elements_is_none_to_name_a_line_by(tmp_path: Path) -> None:
    assert sets(deck(tmp_path, f"{DECK}*NSET, NSET=A, ELSET=E\n")) == {}


@pytest.mark.parametrize("line", ["*Include,\nInput=more.inp\n", '*INCLUDE,\n** of the part\n INPUT = "more.inp"\n'])
def test_the_name_of_a_file_may_stand_on_the_next_line(tmp_path: Path, line: str) -> None:
    (tmp_path / "more.inp").write_text(ELEMENTS)
    assert elements(deck(tmp_path, NODES + line)) == BOTH
    assert "is not there" in refusal(tmp_path, f"{DECK}*INCLUDE,")


PART = (
    f"*PART, NAME=P\n{DECK}*NSET, NSET=own\n1\n*END PART\n*ASSEMBLY, NAME=A\n*INSTANCE, NAME=I, PART=P\n*END INSTANCE\n"
)


def test_nodes_of_the_assembly_have_numbers_of_their_own(tmp_path: Path) -> None:
    text = "*NODE\n1, 0, 0, 100\n*NSET, NSET=ref\n1\n*NSET, NSET=edge, INSTANCE=I\n2, 3\n*ELEMENT, TYPE=MASS\n1, 1\n"
    raw = deck(tmp_path, f"{PART}{text}*END ASSEMBLY\n*NSET, NSET=last\n5\n")
    assert (raw.points[0].tolist(), len(raw.points)) == ([0, 0, 0], 5)
    assert dict(raw.other) == {"nodes of the assembly itself": 1, "MASS": 1}
    assert sets(raw) == {"own": [0], "edge": [1, 2], "last": [4]}
    assert "solid elements of the assembly itself" in refusal(tmp_path, PART + "*ELEMENT, TYPE=C3D4\n9, 1, 2, 3, 4\n")


def test_nodes_may_stand_in_the_instance(tmp_path: Path) -> None:
    text = f"*PART, NAME=P\n*END PART\n*ASSEMBLY, NAME=A\n*INSTANCE, NAME=I, PART=P\n*NODE\n{NODES[6:]}{ELEMENTS}"
    assert elements(deck(tmp_path, f"{text}*END INSTANCE\n*END ASSEMBLY\n")) == BOTH
