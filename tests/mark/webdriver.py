"""A browser of the test's own, driven over the W3C WebDriver protocol with the standard library."""

import base64
import json
import os
import re
import shutil
import subprocess
import tempfile
import time
import urllib.error
import urllib.request

# A proxy of the machine's would be asked for the driver's own address.
NO_PROXY = urllib.request.build_opener(urllib.request.ProxyHandler({}))
# Elsewhere the driver knows where its browser is.
BROWSERS = ["chromium", "chromium-browser", "google-chrome"]
# How the standard names an element in JSON, and keys that print nothing.
ELEMENT = "element-6066-11e4-a52e-4f735466cecf"
KEYS = {
    "Left": "\ue012",
    "Up": "\ue013",
    "Right": "\ue014",
    "Down": "\ue015",
    "PageUp": "\ue00e",
    "PageDown": "\ue00f",
    "Delete": "\ue017",
    "Shift": "\ue008",
    "Control": "\ue009",
    "Tab": "\ue004",
    "Enter": "\ue007",
    "Space": " ",
}


class Browser:
    """Headless Chromium with an empty profile; `downloads` is where it saves files, `more` are
    arguments of the browser's own."""

    def __init__(self, width, height, more=()):
        self.folder = tempfile.mkdtemp(prefix="mark-browser-")
        self.downloads = os.path.join(self.folder, "downloads")
        os.mkdir(self.downloads)
        # Port 0: the system chooses, and the driver says which.
        self.driver = subprocess.Popen(
            ["chromedriver", "--port=0"],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        self.session = None
        self.base = "http://127.0.0.1:%s" % self._port()
        arguments = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--disable-dev-shm-usage",
            "--hide-scrollbars",
            "--user-data-dir=" + os.path.join(self.folder, "profile"),
            *more,
        ]
        options = {"args": arguments}
        found = list(filter(None, map(shutil.which, BROWSERS)))
        if found:
            options["binary"] = found[0]
        wish = {
            "browserName": "chrome",
            "goog:chromeOptions": options,
            "goog:loggingPrefs": {"performance": "ALL", "browser": "ALL"},
        }
        try:
            made = self._ask("POST", "/session", {"capabilities": {"alwaysMatch": wish}})
        except Exception:
            self.close()
            raise
        self.session = "/session/" + made["sessionId"]
        self.cdp(
            "Browser.setDownloadBehavior",
            {"behavior": "allow", "downloadPath": self.downloads},
        )
        self.resize(width, height)

    def _port(self):
        for line in self.driver.stdout:
            found = re.search(r"successfully on port (\d+)", line)
            if found:
                return found.group(1)
        raise RuntimeError("chromedriver did not start")

    def _ask(self, method, path, body=None):
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self.base + path, data, method=method)
        request.add_header("Content-Type", "application/json")
        try:
            with NO_PROXY.open(request, timeout=60) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as error:
            raise RuntimeError(json.load(error)["value"]["message"]) from error

    def ask(self, method, path, body=None):
        return self._ask(method, self.session + path, body)

    def close(self):
        try:
            if self.session:
                self._ask("DELETE", self.session)
        finally:
            self.driver.terminate()
            self.driver.wait()
            shutil.rmtree(self.folder, ignore_errors=True)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def cdp(self, command, parameters):
        return self.ask("POST", "/goog/cdp/execute", {"cmd": command, "params": parameters})

    def resize(self, width, height):
        self.cdp(
            "Emulation.setDeviceMetricsOverride",
            {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False},
        )

    def go(self, url):
        self.ask("POST", "/url", {"url": url})

    def reload(self):
        self.ask("POST", "/refresh", {})

    def js(self, script, *values):
        return self.ask("POST", "/execute/sync", {"script": script, "args": list(values)})

    def find(self, selector):
        body = {"using": "css selector", "value": selector}
        return self.ask("POST", "/element", body)[ELEMENT]

    def text(self, selector):
        return self.js("return document.querySelector(arguments[0]).textContent.trim()", selector)

    def choose_file(self, selector, path):
        self.ask("POST", "/element/%s/value" % self.find(selector), {"text": path})

    def keys(self, *names):
        """Presses keys one after another; `Shift+Left` holds the first."""
        presses = []
        for name in names:
            chord = [KEYS.get(key, key) for key in name.split("+")]
            presses += [{"type": "keyDown", "value": key} for key in chord]
            presses += [{"type": "keyUp", "value": key} for key in reversed(chord)]
        body = {"actions": [{"type": "key", "id": "keyboard", "actions": presses}]}
        self.ask("POST", "/actions", body)

    def touch(self, selector, dx=0, dy=0, kind="touch"):
        """Taps on an element, `dx` and `dy` pixels from its middle."""
        origin = {ELEMENT: self.find(selector)}
        move = {"type": "pointerMove", "duration": 0, "origin": origin, "x": dx, "y": dy}
        taps = [move, {"type": "pointerDown", "button": 0}, {"type": "pointerUp", "button": 0}]
        pointer = {
            "type": "pointer",
            "id": kind,
            "parameters": {"pointerType": kind},
            "actions": taps,
        }
        self.ask("POST", "/actions", {"actions": [pointer]})

    def hover(self, selector, dx=0, dy=0):
        """Moves the mouse over an element, `dx` and `dy` pixels from its middle."""
        origin = {ELEMENT: self.find(selector)}
        move = {"type": "pointerMove", "duration": 0, "origin": origin, "x": dx, "y": dy}
        pointer = {"type": "pointer", "id": "mouse", "parameters": {"pointerType": "mouse"}, "actions": [move]}
        self.ask("POST", "/actions", {"actions": [pointer]})

    def answer_alert(self):
        """Says yes to a question of the page, and gives its words."""
        words = self.ask("GET", "/alert/text")
        self.ask("POST", "/alert/accept", {})
        return words

    def log(self, kind):
        return self.ask("POST", "/se/log", {"type": kind})

    def picture(self, path):
        with open(path, "wb") as file:
            file.write(base64.b64decode(self.ask("GET", "/screenshot")))

    def until(self, script, *values, seconds=30):
        """Waits until a script gives something true, and gives that."""
        end = time.monotonic() + seconds
        while True:
            found = self.js(script, *values)
            if found:
                return found
            if time.monotonic() > end:
                raise RuntimeError("waited in vain for: " + script)
            time.sleep(0.02)

    def download(self, name, seconds=20):
        """The text of a file that the page saved, once it is whole."""
        path = os.path.join(self.downloads, name)
        end = time.monotonic() + seconds
        while not os.path.exists(path):
            if time.monotonic() > end:
                raise RuntimeError("not saved: %s, but %s" % (name, os.listdir(self.downloads)))
            time.sleep(0.05)
        with open(path, newline="", encoding="utf-8") as file:
            text = file.read()
        os.remove(path)
        return text
