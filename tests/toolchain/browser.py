"""A real headless browser, driven over its own inspection protocol through two pipes; no further package."""

from __future__ import annotations

import base64
import json
import os
import selectors
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--no-default-browser-check",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-extensions",
    "--window-size=1100,900",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",  # nothing outside this machine has an address
    "--remote-debugging-pipe",
)
# the browser expects its pipes at the descriptors 3 and 4
PLACE_PIPES = (
    "import os,sys; a,b=os.dup(int(sys.argv[1])),os.dup(int(sys.argv[2])); "
    "a,b=(os.dup(a),os.dup(b)) if {a,b}&{3,4} else (a,b); "
    "os.dup2(a,3); os.dup2(b,4); os.execv(sys.argv[3],sys.argv[3:])"
)


# a key by its name, as the protocol wants it: code, number, text that it enters
KEYS = {
    "Tab": ("Tab", 9, ""),
    "Enter": ("Enter", 13, "\r"),
    "Space": ("Space", 32, " "),
    "ArrowDown": ("ArrowDown", 40, ""),
    "ArrowRight": ("ArrowRight", 39, ""),
    "End": ("End", 35, ""),
}


def browser_path() -> str | None:
    """Path of the browser on this machine, or None."""
    return next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)


class Browser:
    """One browser process with an empty profile."""

    def __init__(self, path: str, profile: str) -> None:
        to_read, self._write = os.pipe()
        self._read, to_write = os.pipe()
        command = [path, *FLAGS, f"--user-data-dir={profile}", "about:blank"]
        self.process = subprocess.Popen(
            [sys.executable, "-c", PLACE_PIPES, str(to_read), str(to_write), *command],
            pass_fds=(to_read, to_write),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_read)
        os.close(to_write)
        self._rest, self._last = b"", 0
        self.events: list[dict[str, Any]] = []
        self._ready = selectors.DefaultSelector()
        self._ready.register(self._read, selectors.EVENT_READ)

    def close(self) -> None:
        """Ends the process and waits for it."""
        try:
            self.ask("Browser.close")
            self.process.wait(timeout=10.0)
        except (OSError, TimeoutError, subprocess.TimeoutExpired):
            self.process.kill()
            self.process.wait(timeout=10.0)
        os.close(self._write)
        os.close(self._read)
        self._ready.close()

    def ask(self, method: str, *, session: str | None = None, wait_s: float = 60.0, **values: Any) -> Any:
        """Sends one command and returns its result; events that arrive meanwhile are kept."""
        self._last += 1
        message: dict[str, Any] = {"id": self._last, "method": method, "params": values}
        if session:
            message["sessionId"] = session
        content = memoryview(json.dumps(message).encode() + b"\0")
        while content:
            content = content[os.write(self._write, content) :]
        deadline = time.monotonic() + wait_s
        while True:
            answer = self._next(deadline)
            if answer.get("id") == self._last:
                if "error" in answer:
                    raise RuntimeError(f"{method}: {answer['error']['message']}")
                return answer["result"]
            self.events.append(answer)

    def listen(self, wait_s: float) -> None:
        """Keeps the events of some time."""
        deadline = time.monotonic() + wait_s
        while True:
            try:
                self.events.append(self._next(deadline))
            except TimeoutError:
                return

    def _next(self, deadline: float) -> dict[str, Any]:
        while b"\0" not in self._rest:
            if not self._ready.select(max(0.0, deadline - time.monotonic())):
                raise TimeoutError("the browser did not answer in time")
            part = os.read(self._read, 1 << 20)
            if not part:
                raise OSError("the browser has ended")
            self._rest += part
        message, _, self._rest = self._rest.partition(b"\0")
        found: dict[str, Any] = json.loads(message)
        return found


class Page:
    """One tab: opens addresses, runs expressions, prints; knows what it asked for and complained about."""

    def __init__(self, browser: Browser) -> None:
        self.browser = browser
        self.target = browser.ask("Target.createTarget", url="about:blank")["targetId"]
        attached = browser.ask("Target.attachToTarget", targetId=self.target, flatten=True)
        self.session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.ask(f"{domain}.enable")

    def ask(self, method: str, **values: Any) -> Any:
        """One command to this tab."""
        return self.browser.ask(method, session=self.session, **values)

    def offline(self) -> None:
        """Cuts the tab off from every network."""
        self.ask(
            "Network.emulateNetworkConditions",
            offline=True,
            latency=0,
            downloadThroughput=-1,
            uploadThroughput=-1,
        )

    def open(self, address: str) -> None:
        """Opens an address and waits until it is loaded."""
        failed = self.ask("Page.navigate", url=address).get("errorText")
        assert not failed, f"{address}: {failed}"
        self.wait_for("document.readyState === 'complete'")

    def value(self, expression: str) -> Any:
        """Value of an expression in the page; promises are awaited."""
        given = {"expression": expression, "returnByValue": True, "awaitPromise": True}
        result = self.ask("Runtime.evaluate", **given)
        assert "exceptionDetails" not in result, result["exceptionDetails"]
        return result["result"].get("value")

    def wait_for(self, condition: str, wait_s: float = 90.0) -> None:
        """Waits until an expression is true."""
        deadline = time.monotonic() + wait_s
        while not self.value(f"Boolean({condition})"):
            assert time.monotonic() < deadline, f"never true: {condition}"
            self.browser.listen(0.05)

    def click(self, selector: str) -> None:
        """Presses the mouse on the middle of an element, as a person does."""
        box = self.value(
            f"(() => {{ const e = document.querySelector({json.dumps(selector)});"
            "e.scrollIntoView({block: 'center'});"
            "const r = e.getBoundingClientRect(); return {x: r.x + r.width / 2, y: r.y + r.height / 2}; })()"
        )
        for kind in ("mousePressed", "mouseReleased"):
            self.ask("Input.dispatchMouseEvent", type=kind, button="left", clickCount=1, **box)

    def press(self, name: str, times: int = 1) -> None:
        """Presses and releases a key of KEYS."""
        code, number, text = KEYS[name]
        key = {"code": code, "key": " " if name == "Space" else name, "windowsVirtualKeyCode": number}
        for _ in range(times):
            self.ask("Input.dispatchKeyEvent", type="keyDown", **key, **({"text": text} if text else {}))
            self.ask("Input.dispatchKeyEvent", type="keyUp", **key)

    def focus_by_tab(self, selector: str, most: int = 60) -> None:
        """Presses the tabulator until an element has the focus, as one does without a mouse."""
        for _ in range(most):
            self.press("Tab")
            if self.value(f"document.activeElement.matches({json.dumps(selector)})"):
                return
        raise AssertionError(f"the tabulator does not reach {selector}")

    def width(self, pixels: int) -> None:
        """Makes the window of the tab so wide."""
        size = {"width": pixels, "height": 900, "deviceScaleFactor": 1}
        self.ask("Emulation.setDeviceMetricsOverride", mobile=False, **size)

    def choose_file(self, selector: str, path: Path) -> None:
        """Chooses a file in a file field."""
        root = self.ask("DOM.getDocument")["root"]["nodeId"]
        node = self.ask("DOM.querySelector", nodeId=root, selector=selector)["nodeId"]
        self.ask("DOM.setFileInputFiles", files=[str(path)], nodeId=node)

    def close(self) -> None:
        """Closes the tab."""
        self.browser.ask("Target.closeTarget", targetId=self.target)

    def type(self, text: str) -> None:
        """Enters text where the caret is, as pasting does."""
        self.ask("Input.insertText", text=text)

    def complaints(self) -> list[str]:
        """Errors and warnings of console, log and scripts so far."""
        found = []
        for event in self._events():
            values = event["params"]
            if event["method"] == "Runtime.exceptionThrown":
                found.append(json.dumps(values["exceptionDetails"]))
            elif event["method"] == "Runtime.consoleAPICalled" and values["type"] in {"error", "warning"}:
                found.append(json.dumps(values["args"]))
            elif event["method"] == "Log.entryAdded" and values["entry"]["level"] in {"error", "warning"}:
                found.append(json.dumps(values["entry"]))
        return found

    def requests(self) -> list[str]:
        """Addresses that the tab asked for so far."""
        wanted = [event for event in self._events() if event["method"] == "Network.requestWillBeSent"]
        return [event["params"]["request"]["url"] for event in wanted]

    def _events(self) -> list[dict[str, Any]]:
        return [event for event in self.browser.events if event.get("sessionId") == self.session]

    def pdf(self) -> bytes:
        """The page printed to A4."""
        printed = self.ask("Page.printToPDF", preferCSSPageSize=True, printBackground=False)
        return base64.b64decode(printed["data"])

    def picture(self, clip: dict[str, float] | None = None) -> bytes:
        """PNG of the whole page, or of a part of it in page coordinates."""
        more = {"clip": {**clip, "scale": 1}} if clip else {}
        shot = self.ask("Page.captureScreenshot", format="png", captureBeyondViewport=True, **more)
        return base64.b64decode(shot["data"])


@contextmanager
def started() -> Iterator[Browser]:
    """A running browser with a new, empty profile."""
    path = browser_path()
    assert path is not None
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        browser = Browser(path, profile)
        try:
            yield browser
        finally:
            browser.close()
