"""Keys at a terminal: runs a program on a terminal of its own and presses keys.

Usage: keys.py HOW PROGRAM ARG... HOW is "enter" (ten taps, 0.65 s apart, then Enter),
"signal" (three taps, then SIGTERM) or "say:A|B|..." (lines, one for each question). Prints what the program printed on standard output, then
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
# Lines wait in the terminal until they are read.
if how.startswith("say:"):
    os.write(ours, "".join(line + "\n" for line in how[4:].split("|")).encode())
# Raw once the program reads single keys.
deadline = time.monotonic() + 10
while not how.startswith("say:") and termios.tcgetattr(theirs)[3] & termios.ICANON and time.monotonic() < deadline:
    time.sleep(0.01)
for tap in range({"enter": 10, "signal": 3}.get(how, 0)):
    os.write(ours, b" ")
    time.sleep(0.65)
if how == "enter":
    os.write(ours, b"\r")
elif how == "signal":
    child.send_signal(signal.SIGTERM)
output, _ = child.communicate(timeout=20)
print(output.decode().strip())
print("restored" if termios.tcgetattr(theirs) == before else "changed")
print(child.returncode)
