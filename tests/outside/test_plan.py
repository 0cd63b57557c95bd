"""The plan on paper, measured by another program: walls, reading points and scale bar at the scale that is stated.

The content of the page is read with pikepdf, its words with poppler; what the plan must show comes from the floor
design that the document itself carries as evidence.
"""

import json
import re
import tomllib

import paper
import pikepdf
import pytest
from program import tool

POINTS_PER_MM = 72 / 25.4


@pytest.fixture(scope="module")
def documents(tablet):
    """Every document of the demo."""
    ran = tablet.run("demo", "plans", "--no-window")
    assert ran.code == 0, ran
    found = sorted((tablet.folder / "plans").glob("**/*.pdf"))
    assert found, ran.out
    return found


def design(file):
    """The floor design in force, from the evidence that is attached."""
    evidence = json.loads(paper.evidence_of(file)[1])
    issued = [json.loads(one["payload"]) for one in evidence["entries"] if json.loads(one["header"])["kind"] == "design-issued"]
    return tomllib.loads([one["text"] for one in issued if evidence["plot"] in one["plots"]][-1])


def pages_with_plans(file):
    """Page number, from 0, and the scale that is stated on it."""
    text = tool("pdftotext", "-layout", file, "-").stdout
    for number, page in enumerate(text.split("\f")):
        for scale in re.findall(r"Scale 1:(\d+) on A4", page):
            yield number, int(scale), page


def boxes(page):
    """Left, bottom, width and height in points of every closed shape and line of a page."""
    found, path = [], []
    for operands, operator in pikepdf.parse_content_stream(page):
        name = str(operator)
        if name in ("m", "l", "c"):
            # A curve counts by where it ends.
            path.append(tuple(float(one) for one in list(operands)[-2:]))
        elif name in ("S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "n"):
            if path:
                xs, ys = [x for x, _ in path], [y for _, y in path]
                found.append((min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)))
            path = []
    return found


def test_walls_are_as_long_and_as_thick_as_the_stated_scale_makes_them(documents):
    checked = 0
    for file in documents:
        said = design(file)
        walls = [wall for wall in said["walls"] if wall["line_mm"][0][1] == wall["line_mm"][1][1]]
        with pikepdf.open(file) as pdf:
            for number, scale, _ in pages_with_plans(file):
                shapes = boxes(pdf.pages[number])
                for wall in walls:
                    (x0, _), (x1, _) = wall["line_mm"]
                    thick = wall["thickness_mm"]
                    # From inner face to inner face, and over the outer wall at either end, which is drawn 100 mm thick.
                    width = (abs(x1 - x0) + 2 * 100) / scale * POINTS_PER_MM
                    height = thick / scale * POINTS_PER_MM
                    near = [s for s in shapes if abs(s[2] - width) < 0.02 and abs(s[3] - height) < 0.02]
                    assert near, (file, number, wall["name"], width, height)
                    checked += 1
    assert checked >= 6, checked


def test_the_scale_bar_measures_what_is_written_at_it(documents):
    checked = 0
    for file in documents:
        with pikepdf.open(file) as pdf:
            for number, scale, text in pages_with_plans(file):
                length = re.search(r"^\s*0\s+(\d+) ?(m|mm)\b", text, re.M)
                assert length, text
                mm = int(length[1]) * (1000 if length[2] == "m" else 1)
                half = mm / scale / 2 * POINTS_PER_MM
                halves = [s for s in boxes(pdf.pages[number]) if abs(s[2] - half) < 0.02 and abs(s[3] - 1.6 * POINTS_PER_MM) < 0.02]
                assert len(halves) >= 2, (file, number, half)
                first, second = sorted(halves)[:2]
                assert abs(first[0] + first[2] - second[0]) < 0.02, "the halves meet"
                checked += 1
    assert checked >= 2, checked


def test_every_reading_point_has_its_mark_where_the_design_puts_it(documents):
    """Distances between the marks of a wall's points are those of the design, to a hundredth of a millimetre of paper."""
    checked = 0
    for file in documents:
        said = design(file)
        with pikepdf.open(file) as pdf:
            for number, scale, text in pages_with_plans(file):
                shapes = boxes(pdf.pages[number])
                if "bearing" not in text.lower():
                    continue
                for wall in said["walls"]:
                    if not wall["bearing"] or "spaced" not in wall or wall["line_mm"][0][1] != wall["line_mm"][1][1]:
                        continue
                    spacing = wall["spaced"]["spacing_mm"] / scale * POINTS_PER_MM
                    marks = [s for s in shapes if 3.0 < s[2] < 12.0 and 3.0 < s[3] < 12.0]
                    centres = [(s[0] + s[2] / 2, s[1] + s[3] / 2) for s in marks]
                    pairs = [
                        (a, b)
                        for a in centres
                        for b in centres
                        if abs(b[0] - a[0] - spacing) < 0.03 and abs(a[1] - b[1]) < 1.5
                    ]
                    assert pairs, (file, number, wall["name"])
                    checked += 1
    assert checked >= 3, checked
