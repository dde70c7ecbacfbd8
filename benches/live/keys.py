"""Keys pressed on the deck's screen, and when the callback that plays them came.

usage: keys.py PROGRAM FILE alone|garbage: runs `PROGRAM --keys FILE` on a terminal of its own, presses
a key at random moments for a minute and prints JSON: {"ms": [...], "stood_ms": [...],
"longest_percent": ..., "connections": ..., "connections_a_second": ...}: from each key's being written
to the terminal to the beginning of the first call of the device that plays it, how long before that the
device had called last, the longest call, and how many connections of garbage the page for phones had
meanwhile, in all and a second: 200 or more. Both clocks are CLOCK_MONOTONIC.
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
# Connections of garbage a second that are wanted, and those that are aimed at by so many senders: one
# that waits for the machine does not hold up the others.
LEAST, AIM, SENDERS = 200, 220, 4
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
        due = begun + made[0] * SENDERS / AIM
        time.sleep(max(0, due - time.monotonic()))
        try:
            one = socket.create_connection((host, port), timeout=1)
            made[0] += 1
            open_ones.append(one)
            one.sendall(heads[made[0] % len(heads)])
        except OSError:
            time.sleep(0.01)
        while len(open_ones) > 50 // SENDERS:
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
ended, made = threading.Event(), [[0] for _ in range(SENDERS)]
begun = time.monotonic()
if beside == "garbage":
    with open(told + ".address", encoding="ascii") as file:
        host, port = file.read().split("/")[2].split(":")
    for own in made:
        sender = threading.Thread(target=garbage, args=(host, int(port), ended, own), daemon=True)
        sender.start()
pressed = []
for _ in range(KEYS):
    pressed.append(time.monotonic_ns())
    os.write(ours, KEY)
    time.sleep(0.3 + 0.2 * random.random())
ended.set()
took_s, connections = time.monotonic() - begun, sum(own[0] for own in made)
assert beside != "garbage" or connections >= LEAST * took_s, f"{connections} in {took_s} s"
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
told["longest_percent"] = longest / 1e4
told["connections"], told["connections_a_second"] = connections, connections / took_s
print(json.dumps(told))
