# SPDX-License-Identifier: MIT
"""A headless Chromium, driven by its own protocol over a pipe [Chrome DevTools Protocol,
--remote-debugging-pipe: JSON, each message ended by a zero byte, in on descriptor 3, out on 4]."""

import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import tempfile
from pathlib import Path

PROGRAM = shutil.which("chromium") or shutil.which("chromium-headless-shell")
PATIENCE_MS = 20_000

# Looks again at each change of the page, never by the clock.
WAIT = """new Promise((done, failed) => {
  const holds = () => { try { return (%s); } catch { return false; } };
  if (holds()) { done(true); return; }
  const late = setTimeout(() => failed(new Error(document.body.innerText)), %d);
  const looking = new MutationObserver(() => {
    if (holds()) { clearTimeout(late); looking.disconnect(); done(true); }
  });
  looking.observe(document, {subtree: true, childList: true, attributes: true, characterData: true});
})"""


class Browser:
    def __init__(self) -> None:
        self.room = tempfile.TemporaryDirectory(prefix="nightlatch-browser-", ignore_cleanup_errors=True)
        theirs_in, self.out = os.pipe()
        self.into, theirs_out = os.pipe()
        ends = [fcntl.fcntl(end, fcntl.F_DUPFD, 10) for end in (theirs_in, theirs_out)]
        self.process = subprocess.Popen(
            ["bash", "-c", f'exec "$@" 3<&{ends[0]} 4>&{ends[1]}', "bash", PROGRAM,
             "--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
             "--no-first-run", "--disable-dev-shm-usage", "--disable-background-networking",
             "--disable-component-update", f"--user-data-dir={self.room.name}",
             "--remote-debugging-pipe", "about:blank"],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            pass_fds=ends, start_new_session=True)  # closed by us, not by Ctrl-C at a terminal
        for end in (theirs_in, theirs_out, *ends):
            os.close(end)
        self.left = b""
        self.number = 0

    def __enter__(self) -> "Browser":
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.call("Browser.close")
        self.process.wait()
        os.close(self.out)
        os.close(self.into)
        self.room.cleanup()

    def call(self, method: str, session: str | None = None, **parameters: object) -> dict:
        self.number += 1
        message = {"id": self.number, "method": method, "params": parameters}
        if session:
            message["sessionId"] = session
        os.write(self.out, json.dumps(message).encode() + b"\0")
        while True:
            answer = self.read()
            if answer.get("id") == self.number:
                if "error" in answer:
                    raise AssertionError(f"{method}: {answer['error']}")
                return answer["result"]

    def read(self) -> dict:
        while b"\0" not in self.left:
            ready, _, _ = select.select([self.into], [], [], PATIENCE_MS / 1000 + 5)
            more = os.read(self.into, 1 << 16) if ready else b""
            if not more:
                self.process.kill()
                raise AssertionError("the browser has ended, or answers no more")
            self.left += more
        message, _, self.left = self.left.partition(b"\0")
        return json.loads(message)

    def open(self, address: str, width: int = 800, height: int = 480) -> "Page":
        return Page(self, address, width, height)


class Page:
    def __init__(self, browser: Browser, address: str, width: int, height: int) -> None:
        self.browser = browser
        self.target = browser.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = browser.call("Target.attachToTarget", targetId=self.target,
                                    flatten=True)["sessionId"]
        self.resize(width, height)
        self.call("Page.enable")
        self.call("Page.navigate", url=address)

    def __enter__(self) -> "Page":
        return self

    def __exit__(self, *_: object) -> None:
        self.browser.call("Target.closeTarget", targetId=self.target)

    def call(self, method: str, **parameters: object) -> dict:
        return self.browser.call(method, self.session, **parameters)

    def resize(self, width: int, height: int) -> None:
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height,
                  deviceScaleFactor=1, mobile=False)

    def prefer(self, **features: str) -> None:
        """prefers_color_scheme="dark", prefers_reduced_motion="reduce"."""
        self.call("Emulation.setEmulatedMedia",
                  features=[{"name": name.replace("_", "-"), "value": value}
                            for name, value in features.items()])

    def ask(self, expression: str) -> object:
        answer = self.call("Runtime.evaluate", expression=expression, awaitPromise=True,
                           returnByValue=True)
        if "exceptionDetails" in answer:
            said = answer["exceptionDetails"]["exception"].get("description", "")
            raise AssertionError(f"{expression[:200]}: {said}")
        return answer["result"].get("value")

    def wait_for(self, condition: str) -> None:
        self.ask(WAIT % (condition, PATIENCE_MS))

    def wait_for_text(self, text: str) -> None:
        self.wait_for(f"document.body.innerText.includes({json.dumps(text)})")

    def picture(self, path: Path) -> None:
        data = self.call("Page.captureScreenshot", format="png")["data"]
        path.write_bytes(base64.b64decode(data))
