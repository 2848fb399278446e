# Reads an iCalendar from standard input with a parser that is not ours, and writes what it understood as JSON.
import json, sys
from icalendar import Calendar

cal = Calendar.from_ical(sys.stdin.buffer.read())
events = []
for e in cal.walk("VEVENT"):
    events.append({
        "uid": str(e["UID"]), "summary": str(e["SUMMARY"]), "description": str(e["DESCRIPTION"]), "location": str(e["LOCATION"]),
        "status": str(e["STATUS"]), "start": e.decoded("DTSTART").isoformat(), "end": e.decoded("DTEND").isoformat(),
        "stamp": e.decoded("DTSTAMP").isoformat(), "errors": [list(x) for x in e.errors],
        "alarms": [{"action": str(a["ACTION"]), "seconds": a.decoded("TRIGGER").total_seconds(), "related": a["TRIGGER"].params.get("RELATED", "START"),
                    "description": str(a["DESCRIPTION"])} for a in e.walk("VALARM")],
    })
json.dump({"version": str(cal["VERSION"]), "prodid": str(cal["PRODID"]), "errors": [list(x) for x in cal.errors], "events": events}, sys.stdout)
