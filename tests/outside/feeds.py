"""Reads calendar feeds back with the `icalendar` library, over the network, as a calendar that subscribes does.

feeds.py PROGRAM: prints each check, and `N passed, N failed` last.
"""
import datetime as dt
import http.cookiejar
import re
import subprocess
import time
import urllib.parse
import urllib.request
from zoneinfo import ZoneInfo

import icalendar
from checks import program, run

SEED = 5_545_003


class Person:
    """Somebody's browser, entered by their link."""

    def __init__(self, link):
        self.base = re.match(r"https?://[^/]+", link)[0]
        jar = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self.browser = urllib.request.build_opener(jar)
        self.post(link.removeprefix(self.base), {})

    def get(self, path):
        return self.browser.open(self.base + path).read().decode()

    def post(self, path, fields):
        data = urllib.parse.urlencode(fields).encode()
        request = urllib.request.Request(self.base + path, data, {"Origin": self.base, "Sec-Fetch-Site": "same-origin"})
        answer = self.browser.open(request)
        return answer.url, answer.read().decode()

    def feed(self):
        """The feed by a new link, read without a cookie."""
        _, page = self.post("/me/calendar", {})
        link = re.search(r'href="(http[^"]+\.ics)"', page)[1]
        raw = urllib.request.urlopen(link).read()
        assert b"\n" not in raw.replace(b"\r\n", b""), "a bare line feed"
        return icalendar.Calendar.from_ical(raw)


def start(program):
    process = subprocess.Popen([program, "demo", "--listen", "127.0.0.1:0"], stdout=subprocess.PIPE, text=True)
    links = {}
    while len(links) < 3:
        line = process.stdout.readline()
        assert line, "the demo ended"
        found = re.match(r"(instructor|volunteer|weaver) +(http\S+)", line)
        if found:
            links[found[1]] = found[2]
    return process, {role: Person(link) for role, link in links.items()}


def sound(calendar):
    """Every event has what RFC 5545 asks for, once, and an identity of its own."""
    events = list(calendar.walk("VEVENT"))
    assert not calendar.errors and all(not event.errors for event in events)
    for event in events:
        for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "SEQUENCE", "STATUS"):
            assert name in event and not isinstance(event[name], list), f"{name} in {event}"
        assert event.decoded("DTEND") > event.decoded("DTSTART")
    identities = [str(event["UID"]) for event in events]
    assert len(set(identities)) == len(identities), "an identity twice"
    return events


def weavers(people):
    events = sound(people["weaver"].feed())
    texts = [str(event.get("DESCRIPTION", "")) for event in events]
    assert any("weave" in text for text in texts), texts
    assert any("is due back" in str(event["SUMMARY"]) for event in events)
    return f"{len(events)} events of a weaver"


def class_days(people):
    """New York, autumn 2026: 18:30 on the clock before and after the clocks go back, and 01:30, which comes twice."""
    me = people["instructor"]
    page = me.get("/workroom")
    fields = {
        name: re.search(rf'name="{name}"[^>]*value="([^"]*)"', page)[1] for name in ("workroom", "scale", "tape", "revision")
    }
    me.post("/workroom", {**fields, "time_zone": "America/New_York", "units": "inches"})
    asked = {"name": "Herbst, Ebbe; \u201eund\u201c \\ Flut", "day": "2026-10-28", "starts": "18:30", "minutes": "90"}
    where, _ = me.post("/terms", {**asked, "count": "3", "every": "1"})
    term = urllib.parse.urlsplit(where).path
    me.post(f"{term}/meetings", {"day": "2026-11-01", "starts": "01:30", "minutes": "60"})
    ours = [event for event in sound(me.feed()) if str(event["SUMMARY"]) == asked["name"]]
    zone = ZoneInfo("America/New_York")
    clock = [event.decoded("DTSTART").astimezone(zone).strftime("%m-%d %H:%M %z") for event in ours]
    assert clock == ["10-28 18:30 -0400", "11-01 01:30 -0400", "11-04 18:30 -0500", "11-11 18:30 -0500"], clock
    assert {event.decoded("DTEND") - event.decoded("DTSTART") for event in ours} == {
        dt.timedelta(minutes=90),
        dt.timedelta(minutes=60),
    }
    # A moment in a feed is of whole seconds.
    time.sleep(1.1)
    off = re.search(r'action="(/meetings/[^"]+/off)"', me.get(term))[1]
    me.post(off, {})
    again = {str(event["UID"]): event for event in sound(me.feed())}
    changed = [event for event in ours if again[str(event["UID"])]["STATUS"] == "CANCELLED"]
    assert len(changed) == 1, "called off is cancelled"
    assert again[str(changed[0]["UID"])]["SEQUENCE"] > changed[0]["SEQUENCE"]
    assert again[str(changed[0]["UID"])].decoded("DTSTAMP") > changed[0].decoded("DTSTAMP"), "revised at no later moment"
    same = [event for event in ours if again[str(event["UID"])]["STATUS"] != "CANCELLED"]
    assert all(again[str(event["UID"])]["DTSTAMP"] == event["DTSTAMP"] for event in same), "revised though it stayed"
    return f"{len(ours)} meetings over the change of clocks"


def main(program):
    process, people = start(program)
    try:
        return run(SEED, [
            ("a weaver's feed", lambda _: weavers(people)),
            ("clocks, escapes, cancelling", lambda _: class_days(people)),
        ])
    finally:
        process.terminate()
        process.wait(20)


if __name__ == "__main__":
    raise SystemExit(main(program(__doc__)))
