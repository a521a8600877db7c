#!/usr/bin/python3
"""check_written.py WRITE_SESSION DOCS: what the writers make, read by readers outside the project.

JSON against its schemas (jsonschema), CSV by the csv module, SVG by an XML parser, the page by
html.parser. Exits 77, skipped, where jsonschema is not installed.
"""
import base64
import collections
import csv
import json
import math
import pathlib
import struct
import subprocess
import sys
import tempfile
import xml.etree.ElementTree
import zlib
from html.parser import HTMLParser

try:
    import jsonschema
except ImportError:
    print("python3-jsonschema is not installed")
    sys.exit(77)

VOID = {"meta", "br", "link", "img", "hr", "input"}


def no_constant(name):
    raise ValueError(f"{name} is not JSON")


def undescribed(schema, path=""):
    """Property names without a description, at any depth."""
    for name, sub in schema.get("properties", {}).items():
        if "description" not in sub:
            yield f"{path}/{name}"
        yield from undescribed(sub, f"{path}/{name}")
    if "items" in schema:
        yield from undescribed(schema["items"], path + "[]")


def unlisted(schema, value, path=""):
    """Written fields that the schema does not describe."""
    if isinstance(value, dict):
        for name, sub in value.items():
            if name not in schema.get("properties", {}):
                yield f"{path}/{name}"
            else:
                yield from unlisted(schema["properties"][name], sub, f"{path}/{name}")
    if isinstance(value, list):
        for sub in value:
            yield from unlisted(schema.get("items", {}), sub, path + "[]")


def check_json(path, schema):
    value = json.loads(path.read_text("utf-8"), parse_constant=no_constant)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(value)
    assert not list(undescribed(schema)), list(undescribed(schema))
    assert not set(unlisted(schema, value)), set(unlisted(schema, value))
    return value


def check_refusals(schema, value):
    """The schema must be able to say no."""
    for spoil in ({"version": 9}, {"format": "x"}, {"warnings": None}):
        if set(spoil) <= set(value):
            assert not jsonschema.Draft202012Validator(schema).is_valid({**value, **spoil}), spoil
    less = {k: v for k, v in value.items() if k != "flinch_version"}
    assert not jsonschema.Draft202012Validator(schema).is_valid(less)


def rows_of(path):
    with open(path, newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file, strict=True))
    assert all(len(row) == len(rows[0]) for row in rows), path
    return [dict(zip(rows[0], row)) for row in rows[1:]]


def same(cell, value):
    if value is None:
        return cell == ""
    if isinstance(value, bool):
        return cell == ("true" if value else "false")
    if isinstance(value, str):
        return cell == value
    return math.isclose(float(cell), value, rel_tol=1e-6, abs_tol=1e-6)


def check_tables(folder, take):
    frames = rows_of(folder / f"takes/{take['id']}-frames.csv")
    flips = rows_of(folder / f"takes/{take['id']}-flips.csv")
    flicks = rows_of(folder / f"takes/{take['id']}-flicks.csv")
    assert len(frames) == take["footage"]["frames"] and len(flips) == take["flips"]
    assert len(flicks) == len(take["flicks"])
    for row, flick in zip(flicks, take["flicks"]):
        for name, value in flick.items():
            assert same(row[name], value), (take["id"], name, row[name], value)
        assert row["condition"].lstrip("'") == take["condition"]
    end = 0
    for span in take["states"]:
        assert abs(span["start_s"] - end) < 1e-6, "states leave a gap"
        end = span["end_s"]
    assert abs(end - take["footage"]["duration_s"]) < 1e-6


def check_png(path):
    head = path.read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"  # PNG specification, section 5.2
    width, height = struct.unpack(">II", head[16:24])
    assert (width, height) == (1920, 1080)


class Page(HTMLParser):
    def __init__(self):
        super().__init__()
        self.open, self.ids, self.links, self.tags, self.scripts = [], [], [], set(), []

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        attrs = dict(attrs)
        if "id" in attrs:
            self.ids.append(attrs["id"])
        self.links += [v for k, v in attrs.items() if k in ("href", "xlink:href")]
        assert not any(k.startswith("on") for k in attrs), attrs
        if tag not in VOID:
            self.open.append(tag)
        if tag == "script":
            self.scripts.append([attrs, ""])

    def handle_data(self, data):
        if self.open and self.open[-1] == "script":
            self.scripts[-1][1] += data

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        assert self.open and self.open.pop() == tag, f"</{tag}> at {self.getpos()}"


def check_page(path):
    page = Page()
    page.feed(path.read_text("utf-8"))
    assert not page.open, page.open
    assert len(page.ids) == len(set(page.ids)), "an id is there twice"
    assert all(link.startswith("#") for link in page.links)
    assert {link[1:] for link in page.links} <= set(page.ids), "a link leads nowhere"
    assert not page.tags & {"iframe", "img", "b", "object"}, page.tags
    check_scripts(page.scripts)


def check_scripts(scripts):
    """Scripts hold our own code, the chart library and takes' numbers: no name can open another, or end one."""
    own = [text for attrs, text in scripts if not attrs]
    numbers = [text for attrs, text in scripts if attrs == {"type": "text/plain", "class": "course"}]
    assert len(own) + len(numbers) == len(scripts) and len(own) <= 2, [attrs for attrs, _ in scripts]
    for text in numbers:
        json.loads(zlib.decompress(base64.b64decode(text, validate=True)))


def main():
    program, docs = sys.argv[1], pathlib.Path(sys.argv[2])
    schemas = {name: json.loads((docs / f"{name}.schema.json").read_text("utf-8")) for name in ("take", "session")}
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        subprocess.run([program, name], check=True)
        session = check_json(folder / "session.json", schemas["session"])
        check_refusals(schemas["session"], session)
        assert len(session["takes"]) == 16
        for summary in session["takes"]:
            take = check_json(folder / summary["file"], schemas["take"])
            check_refusals(schemas["take"], take)
            check_tables(folder, take)
        svgs, pngs = sorted(folder.glob("charts/*.svg")), sorted(folder.glob("charts/*.png"))
        kinds = collections.Counter(path.name.split("-")[0].removesuffix(".svg") for path in svgs)
        assert [p.stem for p in svgs] == [p.stem for p in pngs]
        assert kinds["timeline"] == len(session["takes"]) and kinds["ranking"] == 1, kinds
        assert kinds["curve"] >= 3 and min(kinds["resolution"], kinds["rate"], kinds["delay"]) >= 2, kinds
        for path in svgs:
            root = xml.etree.ElementTree.parse(path).getroot()
            assert root.tag == "{http://www.w3.org/2000/svg}svg" and root[0].tag.endswith("title") and root[0].text
        for path in pngs:
            check_png(path)
        check_page(folder / "report.html")
        assert not [p for p in folder.rglob("*") if ".part-" in p.name], "a temporary file was left"
    print(f"{1 + len(session['takes'])} JSON files, {3 * len(session['takes'])} tables, {len(svgs)} charts, 1 page")


main()
