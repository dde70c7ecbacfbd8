"""Opens the athlete's page in headless Chromium, and prints what is there as JSON.

Usage: open_page.py PAGE.html PICTURE.png
"""

import json
import os
import sys

sys.dont_write_bytecode = True
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "mark"))
from webdriver import Browser

page, picture = sys.argv[1:]
with Browser(900, 1400) as browser:
    browser.go("file://" + page)
    found = browser.js(
        """
        const box = document.querySelector('svg').getBoundingClientRect();
        const texts = [...document.querySelectorAll('svg text')].map(text => text.textContent.trim());
        return {
            title: document.title,
            headings: [...document.querySelectorAll('h2')].map(head => head.textContent),
            verdict: (document.querySelector('.verdict') || {}).textContent || '',
            days: [...document.querySelectorAll('h3')].map(head => head.textContent),
            sets: [...document.querySelectorAll('h3 + ul')].map(list => list.children.length),
            chart: [box.width, box.height],
            texts: texts,
            overflow: document.documentElement.scrollWidth - document.documentElement.clientWidth,
            requests: performance.getEntriesByType('resource').length,
        };
        """
    )
    found["complaints"] = [entry["message"] for entry in browser.log("browser")]
    height = browser.js("return document.documentElement.scrollHeight")
    browser.resize(900, min(int(height), 4000))
    browser.picture(picture)
print(json.dumps(found))
