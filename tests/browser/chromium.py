"""A headless Chromium that opens one file and answers questions, by the DevTools protocol.

Protocol: https://chromedevtools.github.io/devtools-protocol/ (domains Page, Runtime, Log, Network,
Input, Emulation).
"""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import time
from typing import TYPE_CHECKING, Any, Self

import websocket

if TYPE_CHECKING:
    from pathlib import Path

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
_PATIENCE_S = 60.0


def installed() -> str | None:
    """Return the browser on this machine, None where there is none."""
    return next((found for name in NAMES if (found := shutil.which(name))), None)


class Chromium:
    """One browser with one page; everything it asks for and complains of is kept.

    Attributes
    ----------
    requests : list of str
        Addresses that the page asked for.
    complaints : list of str
        Errors and warnings of its console, and exceptions that nobody caught.
    """

    def __init__(self, program: str, profile: Path) -> None:
        self._process = subprocess.Popen(
            [
                program,
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-dev-shm-usage",
                "--no-first-run",
                "--disable-background-networking",
                "--remote-allow-origins=*",
                "--remote-debugging-port=0",
                f"--user-data-dir={profile}",
                "about:blank",
            ],
            stderr=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            text=True,
        )
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self._number = 0
        self._session: str | None = None
        self._loaded = False
        self._socket = websocket.create_connection(self._address(), timeout=_PATIENCE_S)
        (target,) = (
            row["targetId"]
            for row in self.ask("Target.getTargets")["targetInfos"]
            if row["type"] == "page"
        )
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)[
            "sessionId"
        ]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.ask(f"{domain}.enable")

    def _address(self) -> str:
        stream = self._process.stderr
        assert stream is not None
        for line in stream:
            if found := re.search(r"DevTools listening on (ws://\S+)", line):
                return found.group(1)
        raise RuntimeError("the browser ended before it listened")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._socket.close()
        self._process.terminate()
        self._process.wait(timeout=20)

    def _next(self) -> dict[str, Any]:
        told: dict[str, Any] = json.loads(self._socket.recv())
        method, about = told.get("method"), told.get("params", {})
        if method == "Network.requestWillBeSent":
            self.requests.append(about["request"]["url"])
        elif method == "Runtime.exceptionThrown":
            details = about["exceptionDetails"]
            self.complaints.append(details.get("exception", {}).get("description", "exception"))
        elif method == "Runtime.consoleAPICalled" and about["type"] in {"error", "warning"}:
            self.complaints.append(json.dumps(about["args"]))
        elif method == "Log.entryAdded" and about["entry"]["level"] in {"error", "warning"}:
            self.complaints.append(about["entry"]["text"])
        elif method == "Page.loadEventFired":
            self._loaded = True
        return told

    def ask(self, method: str, **about: object) -> dict[str, Any]:
        """Send one command and return its result."""
        self._number += 1
        message = {"id": self._number, "method": method, "params": about}
        if self._session:
            message["sessionId"] = self._session
        self._socket.send(json.dumps(message))
        while (told := self._next()).get("id") != self._number:
            pass
        if "error" in told:
            raise RuntimeError(f"{method}: {told['error']['message']}")
        result: dict[str, Any] = told["result"]
        return result

    def open(
        self, path: Path, *, width: int = 1440, height: int = 1000, dark: bool = False
    ) -> None:
        """Open a file at a window size, and wait until it is there."""
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < 500,
        )
        features = [{"name": "prefers-color-scheme", "value": "dark" if dark else "light"}]
        self.ask("Emulation.setEmulatedMedia", features=features)
        self._loaded = False
        self.ask("Page.navigate", url="about:blank")
        self.ask("Page.navigate", url=path.as_uri())
        while not self._loaded or self.run("location.href") == "about:blank":
            self._next()
        self.until("document.readyState === 'complete'")

    def run(self, code: str) -> Any:
        """Evaluate an expression in the page and return its value."""
        answer = self.ask(
            "Runtime.evaluate", expression=code, returnByValue=True, awaitPromise=True
        )
        if "exceptionDetails" in answer:
            raise RuntimeError(json.dumps(answer["exceptionDetails"])[:800])
        return answer["result"].get("value")

    def until(self, code: str) -> None:
        """Wait until an expression is true."""
        ends = time.monotonic() + _PATIENCE_S
        while not self.run(f"Boolean({code})"):
            if time.monotonic() > ends:
                raise TimeoutError(code)
            time.sleep(0.05)

    def middle(self, selector: str) -> tuple[float, float]:
        """Bring an element into sight and return its middle in the window [px]."""
        left, top = self.run(
            f"(() => {{const e = document.querySelector({json.dumps(selector)});"
            "e.scrollIntoView({block: 'center'}); const b = e.getBoundingClientRect();"
            "return [b.left + b.width / 2, b.top + b.height / 2];})()"
        )
        return left, top

    def mouse(self, kind: str, x: float, y: float, **more: object) -> None:
        """Send one event of the mouse: mouseMoved, mousePressed, mouseReleased, mouseWheel."""
        self.ask("Input.dispatchMouseEvent", type=kind, x=x, y=y, **more)

    def click(self, selector: str) -> None:
        """Click the middle of an element."""
        x, y = self.middle(selector)
        self.mouse("mouseMoved", x, y)
        for kind in ("mousePressed", "mouseReleased"):
            self.mouse(kind, x, y, button="left", clickCount=1)

    def key(self, name: str, code: int = 0, text: str = "") -> None:
        """Press and release a key on what has the focus."""
        about: dict[str, object] = {"key": name, "windowsVirtualKeyCode": code}
        self.ask("Input.dispatchKeyEvent", type="keyDown", text=text, **about)
        self.ask("Input.dispatchKeyEvent", type="keyUp", **about)
