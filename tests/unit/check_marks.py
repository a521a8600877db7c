#!/usr/bin/python3
"""check_marks.py WRITE_MARKS SCHEMA: marks read back by readers outside the project.

WebVTT by webvtt-py, chapters by ffprobe, OpenTimelineIO against a schema written from the fields of its serialized
classes (and by its own library where that is installed), the edit decision list by a strict reader written here from
the trade's layout. Every mark must be on the frame that was put in. Exits 77, skipped, where a reader is missing.
"""
import csv
import fractions
import json
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import urllib.parse
from math import ceil, floor

try:
    import jsonschema
    import webvtt
except ImportError as missing:
    print(f"not installed: python3-{missing.name}")
    sys.exit(77)
try:
    import opentimelineio
except ImportError:
    opentimelineio = None

FOOTAGE = "<b> \u00e9 %25.mkv"


class Labels:
    """Timecode by enumeration: every label in order, those that drop-frame counting leaves out left out (SMPTE ST 12-1)."""

    def __init__(self, rate, drop):
        self.fps, self.drop = round(rate), drop
        out = self.fps // 15 if drop else 0
        self.skipped = lambda m, s, f: s == 0 and m % 10 and f < out
        self.minute = [self.fps * 60 - (out if m % 10 else 0) for m in range(60)]

    def frame(self, label):
        digits = 3 if self.fps > 100 else 2
        found = re.fullmatch(rf"(\d\d):([0-5]\d):([0-5]\d)([:;])(\d{{{digits}}})", label)
        assert found, label
        h, m, s, f = (int(found[i]) for i in (1, 2, 3, 5))
        assert (found[4] == ";") == self.drop and h < 24 and f < self.fps and not self.skipped(m, s, f), label
        count = h * sum(self.minute) + sum(self.minute[:m])
        for second in range(s):
            count += sum(not self.skipped(m, second, x) for x in range(self.fps))
        return count + sum(not self.skipped(m, s, x) for x in range(f))


def read_edl(path, labels):
    """Events of one edit decision list, strictly: what is not of the layout is an error."""
    data = path.read_bytes()
    assert data.isascii() and b"\r" not in data and b"\t" not in data
    lines = data.decode().split("\n")
    assert lines.pop() == "" and max(map(len, lines)) < 255
    assert re.fullmatch(r"TITLE: \S.*", lines[0]) and lines[1] == f"FCM: {'' if labels.drop else 'NON-'}DROP FRAME"
    events = []
    for line in lines[2:]:
        event = re.fullmatch(r"(\d{3})  AX       V     C        (\S+) (\S+) (\S+) (\S+)", line)
        if event:
            frames = [labels.frame(label) for label in event.groups()[1:]]
            assert int(event[1]) == len(events) + 1 <= 999
            assert frames[1] - frames[0] == (frames[3] - frames[2]) % (24 * sum(labels.minute)) > 0, line
            events.append({"source": frames[:2], "record": frames[2:], "comments": [], "marks": []})
        elif line:
            note = re.fullmatch(r"\* (FROM CLIP NAME|COMMENT|LOC): (.*)", line)
            assert note and events, line
            if note[1] == "LOC":
                place = re.fullmatch(r"(\S+) (RED|YELLOW|GREEN|BLUE) +(\S.*)", note[2])
                events[-1]["marks"].append((labels.frame(place[1]), place[3]))
            else:
                events[-1]["comments"].append((note[1], note[2]))
    for a, b in zip(events, events[1:]):
        assert a["source"][1] <= b["source"][0], "events lie on each other"
    return events


def check_edl(path, case, marks):
    labels = Labels(case["rate"], case["drop"])
    events = read_edl(path, labels)
    start, day = labels.frame(case["start"]) if case["start"] else 0, 24 * sum(labels.minute)
    places = {text.split(":")[0]: frame for e in events for frame, text in e["marks"]}
    assert len(places) == len(marks)
    by_name = {e["comments"][1][1].split(":")[0]: e for e in events}
    for mark in marks:
        assert places[mark["name"]] == (start + mark["in"]) % day, mark
        if mark["kind"] == "lapse":
            e = by_name[mark["name"]]
            assert e["source"] == [mark["in"], mark["out"]] and e["record"][0] == (start + mark["in"]) % day, (mark, e)
    comments = events[0]["comments"]
    assert comments[0] == ("FROM CLIP NAME", "<b> %C3%A9 %2525.mkv") and urllib.parse.unquote(comments[0][1]) == FOOTAGE
    assert any("carries no frame rate" in text and f"{float(case['rate']):.3f}".rstrip("0").rstrip(".") + " frames" in text
               for _, text in comments), comments


def check_times(found, case, marks):
    """found: name, start and end in seconds. The frame on screen at the start is the mark's first."""
    assert len(found) == len(marks), len(found)
    for (text, start, end), mark in zip(sorted(found, key=lambda x: x[1]), sorted(marks, key=lambda m: m["start_s"])):
        assert text.split(":")[0] == mark["name"] and end > start
        for got, frame, time in ((start, mark["first"], mark["start_s"]), (end, mark["after"], mark["end_s"])):
            if time is mark["end_s"] and mark["kind"] == "flick":
                continue  # may give way to a lapse
            assert 0 <= got - time < 0.0011, (mark, got)
            assert case["uneven"] or floor(fractions.Fraction(round(got * 1000), 1000) * case["footage"]) == frame, (mark, got)


def check_vtt(path, case, marks):
    read = webvtt.read(str(path))
    check_times([(c.text, c.start_in_seconds, c.end_in_seconds) for c in read], case, marks)
    cues = [(c.start_in_seconds, c.end_in_seconds) for c in read]
    assert cues == sorted(cues, key=lambda c: c[0])
    for i, a in enumerate(cues):
        for b in cues[i + 1:]:
            assert b[0] >= a[1] or b[1] <= a[1], ("cues of chapters nest", a, b)
    text = path.read_text("utf-8")
    assert text.startswith("WEBVTT\n\n") and text.count("-->") == len(marks)
    for line in text.splitlines():
        if "-->" in line:
            assert re.fullmatch(r"\d\d:[0-5]\d:[0-5]\d\.\d{3} --> \d\d:[0-5]\d:[0-5]\d\.\d{3}", line), line  # W3C WebVTT 1


def check_chapters(path, case, marks):
    done = subprocess.run(["ffprobe", "-v", "error", "-f", "ffmetadata", "-show_chapters", "-show_format", "-of", "json", str(path)],
                          check=True, capture_output=True)
    assert not done.stderr, done.stderr
    read = json.loads(done.stdout)
    check_times([(c["tags"]["title"], float(c["start_time"]), float(c["end_time"])) for c in read["chapters"]
                 if c["tags"]["title"] != "No mark"], case, marks)
    tags = read["format"]["tags"]
    assert tags["title"] == case["name"]
    for name in ("game", "condition"):  # as it was given, line ends and turns of direction replaced
        assert tags[name].startswith("<script>alert(\"1\")</script> 'x' & \u05d0\u05d1 \ufffd evil \U0001f3ae --> 00:01.000 =;#\\ %\ufffd\ufffd[CHAPTER]")
    assert read["chapters"][0]["start"] == 0
    for a, b in zip(read["chapters"], read["chapters"][1:]):
        assert a["end"] == b["start"], "chapters leave a gap or overlap"


def check_otio(path, case, marks, schema):
    value = json.loads(path.read_text("utf-8"))
    jsonschema.Draft202012Validator(schema).validate(value)
    clip, = value["tracks"]["children"][0]["children"]
    start = Labels(case["rate"], case["drop"]).frame(case["start"]) if case["start"] else 0
    assert value["global_start_time"]["value"] == start
    assert urllib.parse.unquote(clip["media_references"]["DEFAULT_MEDIA"]["target_url"]) == FOOTAGE == clip["name"]
    assert len(clip["markers"]) == len(marks)
    end = clip["source_range"]["duration"]["value"]
    for marker, mark in zip(sorted(clip["markers"], key=lambda m: m["name"]), sorted(marks, key=lambda m: m["name"])):
        at = marker["marked_range"]
        assert marker["name"] == mark["name"] and marker["comment"].startswith(mark["name"] + ":")
        assert at["start_time"]["rate"] == at["duration"]["rate"] == float(case["rate"])
        assert (at["start_time"]["value"], at["duration"]["value"]) == (mark["in"], mark["out"] - mark["in"]), (marker, mark)
        assert at["start_time"]["value"] + at["duration"]["value"] <= end
    if opentimelineio:
        assert len(opentimelineio.adapters.read_from_file(str(path)).tracks[0][0].markers) == len(marks)


def check_schema(schema):
    jsonschema.Draft202012Validator.check_schema(schema)
    valid = jsonschema.Draft202012Validator(schema).is_valid
    assert not valid({}) and not valid({"OTIO_SCHEMA": "Timeline.1", "name": "x", "metadata": {}, "tracks": None})


def load(path):
    """Cases by name, with what was put in as frames of the edit, by fractions."""
    cases = {}
    with open(path, encoding="utf-8") as file:
        for row in csv.reader(file, delimiter="\t"):
            name, num, den, edit_num, edit_den, drop, start, kind, number, first, after, start_s, end_s = row
            footage = fractions.Fraction(int(num), int(den))
            rate = fractions.Fraction(int(edit_num), int(edit_den)) if edit_den != "0" else footage
            case = cases.setdefault(name, {"name": name, "footage": footage, "rate": rate, "drop": drop == "1", "start": start,
                                           "uneven": name.startswith("uneven"), "marks": []})
            begins = [fractions.Fraction(int(n)) / footage for n in (first, after)]
            if case["uneven"]:  # to the microsecond that the files hold
                begins = [fractions.Fraction(round(float(t) * 1e6) - 1, 10 ** 6) for t in (start_s, end_s)]
            low, high = (ceil(t * rate) for t in begins)  # the first that shows the capture frame
            case["marks"].append({"kind": kind, "name": f"{kind.capitalize()} {number}", "in": low, "out": max(high, low + 1),
                                  "first": int(first), "after": int(after), "start_s": float(start_s), "end_s": float(end_s)})
    return cases


def main():
    program, schema = sys.argv[1], json.loads(pathlib.Path(sys.argv[2]).read_text("utf-8"))
    if not shutil.which("ffprobe"):
        print("the ffprobe program is not installed")
        return 77
    check_schema(schema)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        subprocess.run([program, name], check=True)
        cases = load(folder / "truth.tsv")
        for case in cases.values():
            base, marks = folder / "marks", case["marks"]
            check_edl(base / f"{case['name']}.edl", case, marks)
            check_vtt(base / f"{case['name']}.vtt", case, marks)
            check_chapters(base / f"{case['name']}.ffmeta", case, marks)
            check_otio(base / f"{case['name']}.otio", case, marks, schema)
    print(f"{len(cases)} takes, {sum(len(c['marks']) for c in cases.values())} marks in four files each")
    return 0


sys.exit(main())
