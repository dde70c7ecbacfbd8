"""Opens pictures and pages in headless Chromium and looks where their texts stand.

Usage: boxes.py FOLDER FILE... (FILE@WIDTH in a window so wide, else 900 px)

Prints as JSON, for each file, how many texts it has and what is wrong with them: two that overlap, or
one that leaves the page. With CUELANE_PICTURES=DIR it leaves a PNG of each in DIR. `turning` are the
characters that turn the order of a text, as the browser knows them.
"""

import json
import os
import sys

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "mark"))
from webdriver import Browser

# Every text with its box, in CSS pixels: a text element of a picture, a line of a page's text.
BOXES = """
    const found = [];
    const add = (words, box) => {
        if (words.trim() && box.width > 0) {
            found.push([words.trim(), box.left, box.top, box.right, box.bottom]);
        }
    };
    for (const text of document.querySelectorAll('text')) {
        add(text.textContent, text.getBoundingClientRect());
    }
    const body = document.body;
    if (body) {
        const nodes = document.createTreeWalker(body, NodeFilter.SHOW_TEXT);
        while (nodes.nextNode()) {
            const node = nodes.currentNode;
            if (node.parentElement.closest('svg, style, script')) continue;
            const range = document.createRange();
            range.selectNodeContents(node);
            for (const box of range.getClientRects()) add(node.textContent, box);
        }
    }
    const root = document.documentElement;
    const page = body ? [0, 0, root.clientWidth, root.scrollHeight]
                      : [0, 0, root.width.baseVal.value, root.height.baseVal.value];
    return { texts: found, page: page };
"""
TURNING = """
    const found = [];
    for (let code = 0; code <= 0x10ffff; code++) {
        if (/\\p{Bidi_Control}/u.test(String.fromCodePoint(code))) found.push(code);
    }
    return found;
"""
# A browser rounds boxes outwards by parts of a pixel.
SLACK = 0.5


def overlap(one, other):
    """How far two boxes reach into each other, px."""
    across = min(one[3], other[3]) - max(one[1], other[1])
    down = min(one[4], other[4]) - max(one[2], other[2])
    return min(across, down)


def faults(texts, page):
    found = []
    for at, one in enumerate(texts):
        _, left, top, right, bottom = one
        over = max(page[0] - left, page[1] - top, right - page[2], bottom - page[3])
        if over > SLACK:
            found.append("%.60r leaves the page by %.1f px" % (one[0], over))
        for other in texts[at + 1 :]:
            depth = overlap(one, other)
            if depth > SLACK:
                found.append("%.60r and %.60r overlap by %.1f px" % (one[0], other[0], depth))
    return found


folder, files = sys.argv[1], sys.argv[2:]
pictures = os.environ.get("CUELANE_PICTURES")
result = {}
with Browser(900, 1200) as browser:
    for name in files:
        file, _, width = name.partition("@")
        width = int(width or 900)
        browser.resize(width, 1200)
        browser.go("file://" + os.path.join(os.path.abspath(folder), file))
        looked = browser.js(BOXES)
        result[name] = {
            "texts": len(looked["texts"]),
            "faults": faults(looked["texts"], looked["page"]),
        }
        if pictures:
            os.makedirs(pictures, exist_ok=True)
            browser.resize(width, min(int(looked["page"][3]) + 1, 4000))
            browser.picture(os.path.join(pictures, "%s.png" % name.replace("/", "-")))
    browser.go("about:blank")
    turning = browser.js(TURNING)
print(json.dumps({"pictures": result, "turning": turning}))
