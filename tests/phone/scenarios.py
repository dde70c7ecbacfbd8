"""What a coach does with the page on a phone, in a real browser and against a real deck; prints what
came of it as JSON.

Usage: scenarios.py SCENARIO PROGRAM FOLDER. Pictures of the page (PNG) are left in FOLDER.
"""

import json
import sys

sys.dont_write_bytecode = True
import on_the_page
import over_the_link

if __name__ == "__main__":
    scenario, program, folder = sys.argv[1:]
    place = on_the_page if hasattr(on_the_page, scenario) else over_the_link
    print(json.dumps(getattr(place, scenario)(program, folder)))
