"""Decks: files within files, contact that moves nodes, layers, quotes, instances that stay where they are."""

from __future__ import annotations

from pathlib import Path

import pytest

from fatcore.errors import InputError
from service.mesh.raw import RawMesh
from tests.api.test_mesh_decks import ELEMENTS, PART, deck, refusal
from tests.api.test_mesh_files_by_hand import BOTH, DECK, NODES, TWO, elements


def included(folder: Path, main: str | None, beside: str | None) -> RawMesh:
    """Elements that a file in a folder below includes, held by the folder of the deck, by that folder, or by both."""
    (folder / "sub").mkdir(exist_ok=True)
    (folder / "sub" / "a.inp").write_text(f"{NODES}*INCLUDE, INPUT=more.inp\n")
    for place, text in ((folder, main), (folder / "sub", beside)):
        (place / "more.inp").unlink(missing_ok=True)
        if text is not None:
            (place / "more.inp").write_text(text)
    return deck(folder, "*INCLUDE, INPUT=sub/a.inp\n")


@pytest.mark.parametrize("places", [(ELEMENTS, None), (None, ELEMENTS), (ELEMENTS, ELEMENTS)])
def test_a_file_within_a_file_is_sought_from_the_folder_of_the_deck(
    tmp_path: Path, places: tuple[str | None, str | None]
) -> None:
    assert elements(included(tmp_path, *places)) == BOTH


def test_two_files_that_differ_and_may_be_meant_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"there are two different files 'more\.inp'"):
        included(tmp_path, ELEMENTS, ELEMENTS.replace(TWO, ""))
    with pytest.raises(InputError, match="is not there"):
        included(tmp_path, None, None)


@pytest.mark.parametrize(
    ("line", "code", "called"),
    [
        ("*SOLID SECTION, ELSET=E, COMPOSITE\n0.5, 3, STEEL, O\n", "stresses-may-be-local", ", COMPOSITE"),
        ("*CONTACT PAIR, TIED, INTERACTION=I\nA, B\n", "nodes-may-be-moved", ""),
        ("*CONTACT INITIALIZATION DATA, NAME=C, SEARCH ABOVE=1\n", "nodes-may-be-moved", ""),
        ("*CONTACT\n", "nodes-may-be-moved", ""),
    ],
)
def test_layers_and_contact_are_said_as_well(tmp_path: Path, line: str, code: str, called: str) -> None:
    (doubt,) = deck(tmp_path, DECK + line).doubts
    assert doubt.code == code
    assert doubt.message.startswith(f"the deck has {line.splitlines()[0].partition(',')[0]}{called}: ")


def test_a_change_of_contact_takes_no_elements_away(tmp_path: Path) -> None:
    assert elements(deck(tmp_path, f"{DECK}*MODEL CHANGE, TYPE=contact  pair, REMOVE\nA, B\n")) == BOTH
    for options in (", TYPE=ELEMENT, REMOVE", "", ", ACTIVATE", ", TYPE=CONTACT"):
        assert "takes elements away" in refusal(tmp_path, f"{DECK}*MODEL CHANGE{options}\nE\n")


def test_options_may_stand_in_quotes(tmp_path: Path) -> None:
    text = DECK.replace("TYPE=C3D4", 'TYPE="c3d4"').replace("*NODE", "*NODE, SYSTEM='R'", 1)
    assert elements(deck(tmp_path, text)) == BOTH
    for line in ('*NSET, NSET="a,b"\n1\n', '*INCLUDE, INPUT="a, b.inp"\n'):
        assert "has a quote without its other half" in refusal(tmp_path, DECK + line)


@pytest.mark.parametrize("row", ["0., 0.0, -0\n", "0, 0, 0,\n", ",,\n"])
def test_an_instance_that_is_moved_by_nothing_is_read(tmp_path: Path, row: str) -> None:
    part = "*INSTANCE, NAME=I, PART=P\n"
    assert elements(deck(tmp_path, PART.replace(part, part + row))) == BOTH
    for other in ("0, 0, 1\n", "a\n", "0, 0, 0\n0, 0, 0, 0, 0, 1, 90\n", "nan, 0, 0\n"):
        assert "an instance of a part that is moved" in refusal(tmp_path, PART.replace(part, part + other))
