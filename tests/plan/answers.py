"""Answers a program's questions at a terminal of its own.

Usage: answers.py ANSWERS PROGRAM ARG... ANSWERS are lines with | between. Prints what the program
printed on standard output, then its exit code.
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


def drain():
    try:
        while os.read(ours, 4096):
            pass
    except OSError:
        pass


threading.Thread(target=drain, daemon=True).start()
# The terminal keeps whole lines until the program asks for them.
for answer in answers:
    os.write(ours, answer.encode() + b"\n")
output, _ = child.communicate(timeout=20)
print(output.decode().strip())
print(child.returncode)
