"""Draws the pictures of the pages into this folder: `make pictures`.

The program itself draws the cycle, the weeks and the poster, from the invented data in `docs/examples`. The deck
is a real run without sound: the screen of `cuelane live` in a terminal of its own (tmux), half a
minute after its start, written out as the text of an SVG.

usage: draw.py PROGRAM [ARGUMENT ...]: how the program is called.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from xml.sax.saxutils import escape

PICTURES = Path(__file__).resolve().parent
EXAMPLES = PICTURES.parent / "examples"
COLUMNS, ROWS = 80, 24
CELL, LINE = 9, 19  # px: the advance of a letter, the height of a row
INK, PAPER = "#e8e8e8", "#101010"


def screen(program, folder):
    """The deck's rows in the middle of the first swim, with their escape codes."""
    tmux = ["tmux", "-S", str(folder / "socket"), "-f", "/dev/null"]
    env = {**os.environ, "TERM": "xterm", "LC_ALL": "C.UTF-8"}
    env.pop("TMUX", None)
    live = ["live", "evening.toml", "--swimmer", "alex.toml", "--silent", "--speech", "off"]
    size = ["-x", str(COLUMNS), "-y", str(ROWS)]
    start = [*tmux, "new-session", "-d", "-s", "deck", *size, "--", *program, *live]
    subprocess.run(start, cwd=folder, env=env, check=True)
    try:
        time.sleep(3)
        subprocess.run([*tmux, "send-keys", "-t", "deck", "Space"], env=env, check=True)
        time.sleep(33)  # 10 s to the start, then the swim
        shown = [*tmux, "capture-pane", "-p", "-e", "-N", "-t", "deck"]
        return subprocess.run(shown, env=env, check=True, capture_output=True, text=True).stdout
    finally:
        subprocess.run([*tmux, "kill-server"], env=env, check=False)


def svg(rows):
    """The rows as one picture: plain, bold and reversed text, a run of letters a time."""
    width, height = COLUMNS * CELL + 2 * CELL, ROWS * LINE + LINE
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {width} {height}" font-family="monospace" font-size="15" fill="{INK}">',
        "<title>The deck, in the middle of a swim of an invented swimmer</title>",
        f'<rect width="{width}" height="{height}" rx="8" fill="{PAPER}"/>',
    ]
    bold = reverse = False
    for number, row in enumerate(rows.split("\n")[:ROWS]):
        at = 0
        for code, text in re.findall(r"\x1b\[([\d;]*)m|([^\x1b]+)", row):
            for one in code.split(";") if code else ():
                bold = one == "1" or (bold and one != "0")
                reverse = one == "7" or (reverse and one != "0")
            if not text:
                continue
            x, y = CELL + at * CELL, LINE // 2 + number * LINE
            if reverse:
                run = len(text) * CELL
                out.append(f'<rect x="{x}" y="{y}" width="{run}" height="{LINE}" fill="{INK}"/>')
            look = (' font-weight="bold"' if bold else "") + (f' fill="{PAPER}"' if reverse else "")
            for word in re.finditer(r"\S+(?: \S+)*", text):
                left = x + word.start() * CELL
                out.append(drawn(word.group(), left, y, look))
            at += len(text)
    return "\n".join(out + ["</svg>", ""])


def drawn(text, x, y, look):
    """A run of letters; of blocks, which no two fonts draw alike, a rectangle."""
    wide = len(text) * CELL
    if set(text) == {"█"}:
        return f'<rect x="{x}" y="{y}" width="{wide}" height="{LINE}"/>'
    return (
        f'<text x="{x}" y="{y + LINE - 5}" textLength="{wide}" xml:space="preserve"{look}>'
        f"{escape(text)}</text>"
    )


def main():
    program = sys.argv[1:]
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        for example in EXAMPLES.iterdir():
            shutil.copy(example, folder)
        for line in [
            "timing marks.csv --fps 59.94 --swimmer alex.toml --chart cycle.svg",
            "plan chart alex-plan.toml --today 2027-04-06 --out weeks.svg",
            "show evening.toml --swimmer alex.toml --svg poster.svg",
        ]:
            subprocess.run([*program, *line.split()], cwd=folder, check=True, capture_output=True)
        for name in ["cycle.svg", "weeks.svg", "poster.svg"]:
            shutil.copy(folder / name, PICTURES)
        (PICTURES / "deck.svg").write_text(svg(screen(program, folder)), encoding="utf-8")
    for picture in sorted(PICTURES.glob("*.svg")):
        print(f"{picture.name}: {picture.stat().st_size} bytes")


main()
