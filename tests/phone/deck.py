"""A deck of the test's own: the program without sound and screen, and what it prints."""

import os
import subprocess
import threading
import time

SESSION = """title = "Evening"
lead_in = "20 s"
[[set]]
name = "Settle"
repeats = 3
swim = "50 m"
pace = "20 s / 50 m"
rest = "25 s"
rate = "54 spm"
say = "Easy. Finish the kick as the hand takes hold."
"""


class Deck:
    """`keys` presses keys as a person at the laptop does; `lines` is what was printed."""

    def __init__(self, program, folder, *more, swimmers=("Alex Example",), session=SESSION, at="127.0.0.1"):
        self.folder = folder
        with open(os.path.join(folder, "evening.toml"), "w") as file:
            file.write(session)
        flags = []
        for flag, name in zip(["--swimmer"] + ["--with"] * 5, swimmers):
            path = name.split()[0].lower() + ".toml"
            with open(os.path.join(folder, path), "w") as file:
                file.write('name = "%s"\nrate = "54 spm"\n' % name)
            flags += [flag, path]
        if len(swimmers) > 1:
            flags += ["--apart", "2 s"]
        fixed = ["live", "evening.toml", "--silent", "--lines", "--speech", "off"]
        fixed += ["--phone", "--phone-address", at, "--log", "log.csv"]
        self.process = subprocess.Popen(
            [program, *fixed, *flags, *more],
            cwd=folder,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        self.lines = []
        self.address = self.process.stdout.readline().strip()
        self.port = int(self.address.rsplit(":", 1)[1].split("/")[0])
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self):
        for line in self.process.stdout:
            self.lines.append(line.strip())

    def keys(self, keys):
        self.process.stdin.write(keys)
        self.process.stdin.flush()

    def wait_for(self, text, after=0, seconds=60):
        """The number of the next line, from a number on, that holds a text."""
        end = time.monotonic() + seconds
        while True:
            for at in range(after, len(self.lines)):
                if text in self.lines[at]:
                    return at
            if time.monotonic() > end:
                raise RuntimeError("no %r in %r" % (text, self.lines))
            time.sleep(0.01)

    def rows(self):
        with open(os.path.join(self.folder, "log.csv")) as file:
            return file.read().splitlines()[1:]

    def kill(self):
        self.process.kill()
        self.process.wait()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.process.poll() is None:
            self.keys("qq")
            try:
                self.process.wait(10)
            except subprocess.TimeoutExpired:
                self.kill()
