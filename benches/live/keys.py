"""Keys pressed on the deck's screen, and when the callback that plays them came.

usage: keys.py PROGRAM FILE alone|garbage: runs `PROGRAM --keys FILE` on a terminal of its own, presses
a key at random moments for a minute and prints JSON: {"ms": [...], "stood_ms": [...],
"longest_percent": ..., "connections": ...}: from each key's being written to the terminal to the
beginning of the first call of the device that plays it, how long before that the device had called
last, the longest call, and how many connections of garbage the page for phones had meanwhile: 200 a
second. Both clocks are CLOCK_MONOTONIC.
"""

import fcntl
import json
import os
import pty
import random
import socket
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


def garbage(host, port, ended, made):
    """Guesses, requests that are none, half ones, and sockets that say nothing, by turns."""
    heads = [
        b"GET /guess HTTP/1.1\r\nHost: %s:%d\r\n\r\n" % (host.encode(), port),
        bytes(range(256)) * 8,
        b"GET /AAAAAAAAAAAAAAAAAAAAAA HTTP/1.1\r\nHost: ",
        b"",
    ]
    begun, open_ones = time.monotonic(), []
    while not ended.is_set():
        due = begun + made[0] / 200
        time.sleep(max(0, due - time.monotonic()))
        try:
            one = socket.create_connection((host, port), timeout=1)
            one.sendall(heads[made[0] % len(heads)])
            open_ones.append(one)
        except OSError:
            pass
        made[0] += 1
        while len(open_ones) > 50:
            open_ones.pop(0).close()


program, told, beside = sys.argv[1:]
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
ended, made = threading.Event(), [0]
if beside == "garbage":
    with open(told + ".address", encoding="ascii") as file:
        host, port = file.read().split("/")[2].split(":")
    threading.Thread(target=garbage, args=(host, int(port), ended, made), daemon=True).start()
pressed = []
for _ in range(KEYS):
    pressed.append(time.monotonic_ns())
    os.write(ours, KEY)
    time.sleep(0.3 + 0.2 * random.random())
ended.set()
# The last one is played even where the device stands still just then.
time.sleep(3)
for _ in range(2):
    os.write(ours, b"q")
    time.sleep(0.3)
assert child.wait(timeout=10) == 0
with open(told, encoding="ascii") as file:
    longest = int(file.readline())
    played = [[int(number) for number in line.split()] for line in file]
assert len(played) == KEYS, f"{len(played)} keys were played of {KEYS}"
ms = [(at - key) / 1e6 for key, (at, _) in zip(pressed, played)]
told = {"ms": ms, "stood_ms": [stood / 1e6 for _, stood in played]}
print(json.dumps({**told, "longest_percent": longest / 1e4, "connections": made[0]}))
