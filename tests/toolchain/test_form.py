"""The form of the landing page in a real headless browser: every path by mouse, keyboard and on a narrow screen."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from service.http import pages
from service.http.settings import Settings
from service.report.renderers import RENDERERS
from tests.api.conftest import Server
from tests.toolchain.browser import Page

pytestmark = pytest.mark.toolchain

FOLDER = Path(__file__).parents[2] / "openapi_examples"
INNER = "document.querySelector('#report').contentDocument"
FOCUS = "document.activeElement.id"
KEPT = """(() => { HTMLAnchorElement.prototype.click = function () { window.saved = this.download; }; })()"""


def example(name: str) -> str:
    return (FOLDER / f"{name}.json").read_text(encoding="utf-8")


def request_of(name: str) -> str:
    return json.dumps(json.loads(example(name))["request"])


def opened(page: Page, url: str) -> Page:
    page.open(f"{url}/")
    page.wait_for("document.querySelectorAll('#calculation option').length > 1")
    return page


def enter(page: Page, text: str) -> None:
    page.click("#text")
    page.type(text)


def shown_word(page: Page) -> str:
    page.wait_for("!document.querySelector('#result').hidden && document.activeElement.id === 'verdict'")
    word: str = page.value(f"{INNER}.querySelector('.word').textContent")
    return word


def shown_problem(page: Page) -> str:
    page.wait_for("!document.querySelector('#problem').hidden")
    text: str = page.value("document.querySelector('#problem').innerText")
    return text


def test_every_report_can_be_run_from_its_first_example(url: str, page: Page) -> None:
    offered = opened(page, url).value(
        "[...document.querySelectorAll('#calculation option')].map(each => each.value).filter(Boolean)"
    )
    assert offered == list(RENDERERS)
    for name in offered:
        opened(page, url)
        page.value(f"document.querySelector('#calculation').value = {json.dumps(name)}")
        page.value("document.querySelector('#calculation').dispatchEvent(new Event('change'))")
        listed = page.value("[...document.querySelectorAll('#example option')].map(each => each.value)")
        answers = [json.loads(example(each)) for each in listed if each]
        assert answers
        assert {each["calculation"] for each in answers} == {name}
        page.value("document.querySelector('#example').selectedIndex = 1")
        page.value("document.querySelector('#example').dispatchEvent(new Event('change'))")
        page.wait_for("document.querySelector('#text').value.length > 100")
        page.click("#run")
        assert shown_word(page)
    assert page.complaints() == []
    assert all(address.startswith((url, "about:")) for address in page.requests())


def test_a_report_is_made_by_the_keyboard_alone(url: str, page: Page) -> None:
    opened(page, url)
    page.focus_by_tab("#example")
    page.press("ArrowDown", 4)
    page.wait_for("document.querySelector('#text').value.includes('One toe given by its peaks')")
    page.focus_by_tab("#run")
    page.press("Enter")
    assert shown_word(page) == "✓ PASS"
    spoken = page.value("document.querySelector('#status').textContent")
    assert spoken == "Result: PASS. The report stands below."
    assert page.value("document.querySelector('#verdict').textContent") == "Result: PASS"
    page.value(KEPT)
    page.focus_by_tab("#save", 1)
    page.press("Space")
    name = page.value("window.saved")
    assert name.endswith("-report.html")
    assert page.value("document.activeElement.textContent") == f"Save as {name}"
    page.focus_by_tab("#print", 1)
    assert page.complaints() == []


def test_words_of_a_report_lead_to_their_pages_and_the_saved_one_stands_alone(url: str, page: Page) -> None:
    opened(page, url)
    enter(page, example("check/one-toe-constant"))
    page.click("#run")
    assert shown_word(page)
    links = page.value(f"[...{INNER}.querySelectorAll('a')].map(each => [each.href, each.target, each.rel])")
    assert {(target, rel) for _, target, rel in links} == {("_blank", "noopener")}
    addresses = {address for address, _, _ in links}
    assert f"{url}/pages/curves/peak-stress-opening" in addresses
    assert {address.split("#")[0] for address in addresses} > {f"{url}/pages/findings", f"{url}/pages/sources"}
    for address in sorted(addresses):
        page.open(address)
        assert page.value("!location.hash || Boolean(document.querySelector(':target'))"), address


def test_a_word_of_a_report_opens_a_page_beside_it(url: str, page: Page) -> None:
    opened(page, url)
    enter(page, example("check/one-toe-constant"))
    page.click("#run")
    assert shown_word(page)
    page.value(f"{INNER}.querySelector('figcaption a').focus()")
    page.press("Enter")
    page.browser.listen(1.0)
    targets = page.browser.ask("Target.getTargets")["targetInfos"]
    (beside,) = [each for each in targets if each["url"].startswith(f"{url}/pages/curves/")]
    page.browser.ask("Target.closeTarget", targetId=beside["targetId"])
    assert page.value("document.querySelector('#verdict').textContent") == "Result: PASS"


def test_a_saved_report_is_named_by_its_title(url: str, page: Page) -> None:
    request = json.loads(example("check/one-toe-constant"))["request"]
    opened(page, url)
    enter(page, json.dumps({**request, "title": "Toe 3: Träger / left"}))
    page.click("#run")
    assert shown_word(page) == "✓ PASS"
    page.value(KEPT)
    page.click("#save")
    assert page.value("window.saved") == "Toe-3-Träger-left-report.html"


def test_pasted_example_shows_its_report_at_full_height(url: str, page: Page) -> None:
    opened(page, url)
    enter(page, example("check/one-toe-constant"))
    page.click("#run")
    assert shown_word(page) == "✓ PASS"
    assert page.value(f"{INNER}.querySelectorAll('svg').length") == 2
    for pixels in (1400, 700):
        page.width(pixels)
        page.wait_for(
            f"document.querySelector('#report').getBoundingClientRect().height"
            f" >= {INNER}.documentElement.scrollHeight - 1"
        )
    assert page.complaints() == []


def test_an_example_replaces_own_text_only_when_that_is_wanted(url: str, page: Page) -> None:
    opened(page, url)
    page.value("window.confirm = () => false")
    enter(page, '{"mine": 1}')
    page.focus_by_tab("#example")
    page.press("End")
    page.browser.listen(0.3)
    assert page.value("document.querySelector('#text').value") == '{"mine": 1}'
    page.value("window.confirm = () => true")
    page.press("End")
    page.wait_for("document.querySelector('#text').value.includes('request')")
    page.value("window.confirm = () => false")  # an example that was not changed needs no question
    first = page.value("document.querySelector('#text').value")
    page.press("ArrowDown", 1)
    page.value("document.querySelector('#example').selectedIndex = 1")
    page.value("document.querySelector('#example').dispatchEvent(new Event('change'))")
    page.wait_for(f"document.querySelector('#text').value !== {json.dumps(first)}")


def test_changed_example_fails(url: str, page: Page) -> None:
    opened(page, url)
    page.focus_by_tab("#example")
    page.press("ArrowDown", 4)
    page.wait_for("document.querySelector('#text').value.includes('One toe')")
    text = "document.querySelector('#text').value"
    page.value(f"""{text} = {text}.replace('"maximum": 12', '"maximum": 60')""")
    page.click("#run")
    assert shown_word(page) == "✗ FAIL"


@pytest.mark.parametrize(
    "name", ["check/one-toe-constant", "cracks/growth-tabled", "spectrum/damage-blocks", "spectrum/damage-modes"]
)
def test_file_of_a_plain_request_is_read_and_recognised(url: str, page: Page, tmp_path: Path, name: str) -> None:
    file = tmp_path / "request.json"
    file.write_text(request_of(name), encoding="utf-8")
    opened(page, url).choose_file("#file", file)
    page.wait_for("document.querySelector('#text').value.length > 10")
    page.click("#run")
    assert shown_word(page)


@pytest.mark.parametrize(
    ("text", "title", "place"),
    [
        ('{"lines": [], "loading": 3}', "Input refused", "/lines"),
        ("{", "This is not JSON", ""),
        ("", "Nothing to calculate", ""),
        ('{"other": 1}', "What is it?", ""),
        ('{"title": "in all of them"}', "What is it?", ""),
        ("[3]", "What is it?", ""),
        ("null", "What is it?", ""),
    ],
)
def test_refused_input_names_its_place_and_has_the_focus(
    url: str, page: Page, text: str, title: str, place: str
) -> None:
    opened(page, url)
    enter(page, text)
    page.click("#run")
    assert shown_problem(page).startswith(title)
    assert place in shown_problem(page)
    assert page.value(FOCUS) == "problem"
    assert page.value("document.querySelector('#status').textContent") == ""
    assert page.value("document.querySelector('#result').hidden")


def test_a_refusal_lists_every_pointer_with_its_message(url: str, page: Page) -> None:
    opened(page, url)
    request = json.loads(request_of("check/one-toe-constant"))
    request["lines"][0]["position_mm"] = ["x"]
    request["target"] = {"repeats": -1.0}
    enter(page, json.dumps(request))
    page.width(390)
    page.click("#run")
    shown_problem(page)
    rows = page.value(
        "[...document.querySelectorAll('#problem li')].map(row => [...row.children].map(each => each.textContent))"
    )
    assert sorted(pointer for pointer, _ in rows) == ["/lines/0/position_mm/0", "/target/repeats"]
    assert all(message for _, message in rows)
    assert page.value("document.documentElement.scrollWidth <= innerWidth")


def test_form_goes_without_examples_where_none_are_installed(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pages, "examples", dict)
    with Server(Settings()) as url:
        opened(page, url)
        page.wait_for("!document.querySelector('#example')")
        enter(page, example("check/one-toe-constant"))
        page.click("#run")
        assert shown_word(page) == "✓ PASS"
        assert page.complaints() == []


def test_the_box_of_the_key_opens_by_itself_and_enter_sends_it(page: Page) -> None:
    with Server(Settings(api_keys=("right",))) as url:
        opened(page, url)
        enter(page, example("check/one-toe-constant"))
        page.focus_by_tab("#run")
        page.press("Enter")
        for wrong in ("asks for a key", "not known"):
            page.wait_for(f"document.querySelector('#problem').innerText.includes('{wrong}')")
            assert page.value("document.querySelector('#locked').open")
            assert page.value(FOCUS) == "key"
            page.type("wrong" if wrong == "asks for a key" else "right")
            page.press("Enter")
        assert shown_word(page) == "✓ PASS"
        assert page.value("document.querySelector('#problem').hidden")


def test_a_report_tells_what_changed_since_an_older_answer(url: str, page: Page, tmp_path: Path) -> None:
    older = tmp_path / "older.json"
    older.write_text(json.dumps(json.loads(example("check/one-toe-constant"))["response"]), encoding="utf-8")
    opened(page, url)
    enter(page, example("check/one-toe-constant").replace('"maximum": 12', '"maximum": 60'))
    page.choose_file("#older", older)
    page.click("#run")
    assert shown_word(page) == "✗ FAIL"
    assert "before and now" in page.value(f"{INNER}.body.innerHTML")
    older.write_text("{", encoding="utf-8")
    page.choose_file("#older", older)
    page.click("#run")
    page.wait_for("!document.querySelector('#problem').hidden")
    assert shown_problem(page).startswith("The older answer is not JSON")


def test_a_server_that_is_gone_is_told(url: str, page: Page) -> None:
    opened(page, url)
    enter(page, example("check/one-toe-constant"))
    page.offline()
    page.click("#run")
    assert shown_problem(page).startswith("The server cannot be reached")
    assert page.value("!document.querySelector('#run').disabled")


@pytest.mark.parametrize("pixels", [390, 320])
def test_nothing_is_wider_than_a_narrow_screen(url: str, page: Page, pixels: int) -> None:
    page.width(pixels)
    opened(page, url)
    assert page.value("document.documentElement.scrollWidth <= innerWidth")
    page.choose_file("#file", FOLDER / "check" / "bracket-hanger.json")
    page.wait_for("document.querySelector('#text').value.length > 10")
    page.click("#run")
    assert shown_word(page) == "✓ PASS"
    assert page.value("document.documentElement.scrollWidth <= innerWidth")
    assert page.value(f"{INNER}.documentElement.scrollWidth <= document.querySelector('#report').clientWidth")
