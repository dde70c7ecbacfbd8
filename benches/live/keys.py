"""Keys pressed on the deck's screen, and when the callback that plays them came.

usage: keys.py PROGRAM FILE: runs `PROGRAM --keys FILE` on a terminal of its own, presses a key at
random moments and prints JSON: {"ms": [...], "stood_ms": [...]}: from each key's being written to
the terminal to the beginning of the first call of the device that plays it, and how long before
that the device had called last. Both clocks are CLOCK_MONOTONIC.
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
# The last one is played even where the device stands still just then.
time.sleep(3)
for _ in range(2):
    os.write(ours, b"q")
    time.sleep(0.3)
assert child.wait(timeout=10) == 0
with open(told, encoding="ascii") as file:
    played = [[int(number) for number in line.split()] for line in file]
assert len(played) == KEYS, f"{len(played)} keys were played of {KEYS}"
ms = [(at - key) / 1e6 for key, (at, _) in zip(pressed, played)]
print(json.dumps({"ms": ms, "stood_ms": [stood / 1e6 for _, stood in played]}))
