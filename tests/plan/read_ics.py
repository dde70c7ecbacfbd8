"""Reads a calendar with the library icalendar, and prints its entries as JSON.

Usage: read_ics.py FILE.ics [ZONE]. With a zone, starts and ends are given in its local time.
"""

import json
import sys
from zoneinfo import ZoneInfo

from icalendar import Calendar

with open(sys.argv[1], "rb") as file:
    raw = file.read()
zone = ZoneInfo(sys.argv[2]) if len(sys.argv) > 2 else None
calendar = Calendar.from_ical(raw)


def local(time):
    return (time.astimezone(zone) if zone else time).strftime("%Y-%m-%dT%H:%M:%S")


entries = []
for event in calendar.walk("VEVENT"):
    start, end = event.decoded("dtstart"), event.decoded("dtend")
    alarms = [alarm.decoded("trigger").total_seconds() for alarm in event.walk("VALARM")]
    entries.append(
        {
            "uid": str(event["uid"]),
            "start": local(start),
            "has_zone": start.tzinfo is not None,
            "length_s": (end - start).total_seconds(),
            "summary": str(event["summary"]),
            "description": str(event["description"]),
            "alarms_s": alarms,
            "sequence": int(event["sequence"]),
            "stamped": "dtstamp" in event,
        }
    )
lines = raw.split(b"\r\n")
print(
    json.dumps(
        {
            "version": str(calendar["version"]),
            "prodid": "prodid" in calendar,
            "entries": entries,
            "longest_line": max(len(line) for line in lines),
            "bare_line_feeds": raw.count(b"\n") - raw.count(b"\r\n"),
        }
    )
)
