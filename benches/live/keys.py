"""Keys pressed on the deck's screen, and when the callback that plays them came.

usage: keys.py PROGRAM FILE: runs `PROGRAM --keys FILE` on a terminal of its own, presses a key at
random moments and prints JSON: {"ms": [...]}, from each key's being written to the terminal to
the beginning of the first call of the device that plays it. Both clocks are CLOCK_MONOTONIC.
"""

import fcntl
import json
import os
import pty
import random
import struct
import subprocess
import sys
import termios
import threading
import time

KEYS = 150
# Right: half a stroke a minute more.
KEY = b"\x1b[C"


def drain(terminal):
    while True:
        try:
            if not os.read(terminal, 65536):
                return
        except OSError:
            return


program, told = sys.argv[1:]
ours, theirs = pty.openpty()
fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
child = subprocess.Popen(
    [program, "--keys", told],
    stdin=theirs,
    stdout=theirs,
    stderr=theirs,
    start_new_session=True,
    env={**os.environ, "TERM": "xterm"},
)
os.close(theirs)
threading.Thread(target=drain, args=(ours,), daemon=True).start()
random.seed(7)
time.sleep(4)
os.write(ours, b" ")
time.sleep(1)
pressed = []
for _ in range(KEYS):
    pressed.append(time.monotonic_ns())
    os.write(ours, KEY)
    time.sleep(0.06 + 0.05 * random.random())
for _ in range(2):
    os.write(ours, b"q")
    time.sleep(0.3)
assert child.wait(timeout=10) == 0
with open(told, encoding="ascii") as file:
    played = [int(line) for line in file]
assert len(played) == KEYS, f"{len(played)} keys were played of {KEYS}"
print(json.dumps({"ms": [(later - key) / 1e6 for key, later in zip(pressed, played)]}))
