"""Answers a program's questions at a terminal of its own.

Usage: answers.py ANSWERS PROGRAM ARG... ANSWERS are lines with | between. Prints what stood on the
terminal, what the program printed on standard output, then its exit code.
"""

import os
import pty
import subprocess
import sys
import threading

answers, command = sys.argv[1].split("|"), sys.argv[2:]
ours, theirs = pty.openpty()
child = subprocess.Popen(
    command, stdin=theirs, stdout=subprocess.PIPE, stderr=theirs, close_fds=True
)


asked = []


def drain():
    try:
        while seen := os.read(ours, 4096):
            asked.append(seen)
    except OSError:
        pass


reader = threading.Thread(target=drain, daemon=True)
reader.start()
# The terminal keeps whole lines until the program asks for them.
for answer in answers:
    os.write(ours, answer.encode() + b"\n")
output, _ = child.communicate(timeout=20)
# The last one who holds it lets go: what was written to it is read to its end.
os.close(theirs)
reader.join(timeout=5)
print(b"".join(asked).decode().replace("\r\n", "\n").strip())
print(output.decode().strip())
print(child.returncode)
