"""Taps at a terminal: runs a program on a terminal of its own and presses keys.

Usage: keys.py HOW PROGRAM ARG... HOW is "enter" (ten taps, 0.65 s apart, then Enter) or
"signal" (three taps, then SIGTERM). Prints what the program printed on standard output, then
"restored" or "changed": whether the terminal is as it was, then the exit code.
"""

import os
import pty
import signal
import subprocess
import sys
import termios
import threading
import time

how, command = sys.argv[1], sys.argv[2:]
ours, theirs = pty.openpty()
before = termios.tcgetattr(theirs)
child = subprocess.Popen(
    command, stdin=theirs, stdout=subprocess.PIPE, stderr=theirs, close_fds=True
)


def drain():
    try:
        while os.read(ours, 4096):
            pass
    except OSError:
        pass


threading.Thread(target=drain, daemon=True).start()
# Raw once the program reads single keys.
deadline = time.monotonic() + 10
while termios.tcgetattr(theirs)[3] & termios.ICANON and time.monotonic() < deadline:
    time.sleep(0.01)
for tap in range(10 if how == "enter" else 3):
    os.write(ours, b" ")
    time.sleep(0.65)
if how == "enter":
    os.write(ours, b"\r")
else:
    child.send_signal(signal.SIGTERM)
output, _ = child.communicate(timeout=20)
print(output.decode().strip())
print("restored" if termios.tcgetattr(theirs) == before else "changed")
print(child.returncode)
