"""Insulation, topping, flatness, cubes, maturity and evaporation against scipy, shapely and exact fractions.

Written from the published formulas, apart from the program; random cases come from fixed seeds.
"""

import copy
import itertools
import json
import math
import random
from fractions import Fraction

import numpy
import pytest
from program import DATA
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.spatial import Delaunay
from shapely.geometry import Point, Polygon
from test_reckon import CASES, check_working, conforms, overall, random_outline, reckon, reckoned, refused, some_decision


def micrometres(x: Fraction) -> float:
    """Millimetres to the nearest micrometre, halves away from zero."""
    scaled = abs(x) * 1000
    whole = math.floor(scaled + Fraction(1, 2))
    return math.copysign(whole, x) / 1000


# u-value


def u_value(given):
    """Combined method over every path, then the suspended floor with its ventilation."""
    surfaces = given["surface_inside_m2K_per_W"] + given["surface_below_m2K_per_W"]
    options = []
    for layer in given["layers"]:
        if "parts" in layer:
            options.append([(p["fraction"], layer["thickness_mm"] / 1000 / p["W_per_mK"]) for p in layer["parts"]])
        else:
            options.append([(1.0, layer["resistance_m2K_per_W"])])
    upper = 1 / sum(numpy.prod([f for f, _ in path]) / (surfaces + sum(r for _, r in path)) for path in itertools.product(*options))
    lower = surfaces + sum(1 / sum(f / r for f, r in parts) if len(parts) > 1 else parts[0][1] for parts in options)
    floor = given.get("declared_floor_U_W_per_m2K")
    if floor is None and upper / lower <= 1.5:
        floor = 2 / (upper + lower)
    b = given["area_m2"] / (given["exposed_perimeter_m"] / 2)
    insulation = given.get("ground_insulation_m2K_per_W", 0)
    d = given["wall_thickness_m"] + given["ground_W_per_mK"] * (given["surface_inside_m2K_per_W"] + insulation + given["surface_outside_m2K_per_W"])
    ground = 2 * given["ground_W_per_mK"] / (math.pi * b + d) * math.log(math.pi * b / d + 1)
    wind = given["opening_area_m2_per_m"] * given["wind_speed_m_per_s"] * given["wind_shielding"]
    air = (2 * given["height_m"] * given["wall_U_W_per_m2K"] + 1450 * wind) / b
    return upper, lower, None if floor is None else 1 / (1 / floor + 1 / (ground + air))


@pytest.mark.parametrize("seed", range(16))
def test_u_value_agrees_with_plain_arithmetic(tablet, seed):
    rng = random.Random(500 + seed)
    given = copy.deepcopy(CASES["u-value--invented-plot"]["input"])
    given |= {"area_m2": rng.uniform(10, 300), "exposed_perimeter_m": rng.uniform(5, 80), "height_m": rng.uniform(0, 1), "wall_U_W_per_m2K": rng.uniform(0.2, 2), "ground_insulation_m2K_per_W": rng.choice([0, 0.5])}
    given["layers"] = []
    for i in range(rng.randrange(1, 5)):
        cuts = sorted(rng.random() for _ in range(rng.randrange(0, 3)))
        fractions = [b - a for a, b in zip([0, *cuts], [*cuts, 1])]
        parts = [{"fraction": f, "W_per_mK": rng.choice([0.034, 0.038, 0.15, 0.4, 1.35, 2.3])} for f in fractions]
        given["layers"].append({"name": str(i), "thickness_mm": rng.uniform(10, 200), "parts": parts} if rng.random() < 0.8 else {"name": str(i), "resistance_m2K_per_W": rng.uniform(0, 2)})
    upper, lower, u = u_value(given)
    result = reckoned(tablet, "u-value", given)
    check_working(result)
    assert (result["upper_resistance"], result["lower_resistance"]) == pytest.approx((upper, lower), rel=1e-9)
    if u is None:
        assert result["U_W_per_m2K"] is None and result["verdict"] == "undetermined"
    else:
        assert result["U_W_per_m2K"] == pytest.approx(u, rel=1e-9)
        assert result["verdict"] == ("conforming" if u <= given["limit_W_per_m2K"] else "nonconforming")
    declared = given | {"declared_floor_U_W_per_m2K": 0.3}
    assert reckoned(tablet, "u-value", declared)["U_W_per_m2K"] == pytest.approx(u_value(declared)[2], rel=1e-9)


def test_every_cell_of_the_published_suspended_floor_table(tablet):
    table = json.loads((DATA / "published" / "u-value.json").read_text())["suspended_floor_table"]
    inputs, base = table["inputs"], CASES["u-value--invented-plot"]["input"]
    for ratio, cell in zip(table["perimeter_over_area"], table["U_opening_0.0015"], strict=True):
        given = base | {"area_m2": 60, "exposed_perimeter_m": 60 * ratio, "wall_thickness_m": inputs["wall_thickness_m"], "ground_W_per_mK": inputs["ground_W_per_mK"], "surface_inside_m2K_per_W": inputs["surface_inside"], "surface_below_m2K_per_W": inputs["surface_inside"], "surface_outside_m2K_per_W": inputs["surface_outside"]}
        given |= {"layers": [{"name": "floor", "resistance_m2K_per_W": inputs["floor_resistance"]}], "height_m": inputs["height_times_wall_U"], "wall_U_W_per_m2K": 1, "opening_area_m2_per_m": 0.0015, "wind_speed_m_per_s": inputs["wind_speed_times_shielding"], "wind_shielding": 1}
        assert round(reckoned(tablet, "u-value", given)["U_W_per_m2K"], 2) == cell, ratio


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"area_m2": 0}, "/area_m2"),
        ({"exposed_perimeter_m": -1}, "/exposed_perimeter_m"),
        ({"ground_W_per_mK": 0}, "/ground_W_per_mK"),
        ({"layers": []}, "/layers"),
        ({"layers": [{"name": "a"}]}, "/layers/0"),
        ({"layers": [{"name": "a", "thickness_mm": 10, "parts": [{"fraction": 0.999998, "W_per_mK": 1}]}]}, "/layers/0/parts"),
        ({"layers": [{"name": "a", "resistance_m2K_per_W": 1}, {"name": "a", "resistance_m2K_per_W": 1}]}, "/layers/1/name"),
    ],
)
def test_layers_that_cannot_be_are_refused(tablet, change, place):
    refused(reckon(tablet, "u-value", CASES["u-value--invented-plot"]["input"] | change), place)


# topping and its forecast


def triangulated(outline, points):
    """∫ depth over the outline in mm³: scipy's Delaunay, each triangle clipped by shapely, linear inside it."""
    known = {(x, y): depth for x, y, depth in points}
    for corner in map(tuple, outline):
        if corner not in known:
            nearest = min(points, key=lambda p: (p[0] - corner[0]) ** 2 + (p[1] - corner[1]) ** 2)
            known[corner] = nearest[2]
    places = numpy.array(list(known))
    depths = numpy.array(list(known.values()))
    clip, total = Polygon(outline), 0.0
    for triangle in Delaunay(places).simplices:
        corners = places[triangle]
        piece = Polygon(corners).intersection(clip)
        if piece.is_empty or piece.area == 0:
            continue
        plane = numpy.linalg.solve(numpy.column_stack([corners - corners[0], numpy.ones(3)]), depths[triangle])
        # The integral of a plane over a polygon is its value at the centroid times the area.
        middle = piece.centroid
        total += piece.area * float(plane @ [middle.x - corners[0][0], middle.y - corners[0][1], 1])
    return total


def scattered(rng, outline, count):
    """Places that no four of lie on one circle, so that the triangles are the same for everybody."""
    inside, points = Polygon(outline), []
    while len(points) < count:
        x, y = rng.randrange(-500_000, 12_500_000) / 1000, rng.randrange(-500_000, 12_500_000) / 1000
        if inside.contains(Point(x, y)) or rng.random() < 0.1:
            points.append((x, y, rng.randrange(70_000, 95_000) / 1000))
    return points


def valid_outline(rng):
    outline = random_outline(rng)
    while not Polygon(outline).is_valid:
        outline = random_outline(rng)
    return outline


@pytest.mark.parametrize("seed", range(16))
def test_topping_agrees_with_scipy_and_shapely(tablet, seed):
    rng = random.Random(600 + seed)
    outline, decision = valid_outline(rng), some_decision(rng)
    points = scattered(rng, outline, rng.choice([1, 2, 5, 40, 200]))
    readings = [{"point": f"T{i}", "x_mm": x, "y_mm": y, "thickness_mm": t} for i, (x, y, t) in enumerate(points)]
    given = {"outline_mm": outline, "design_mm": 80, "tolerance_minus_mm": 5, "tolerance_plus_mm": 10, "readings": readings, "waste_percent": 7.5, "fibre_kg_per_m3": 35, "decision": decision}
    result = reckoned(tablet, "topping", given)
    check_working(result)
    volume = triangulated(outline, points) / 1e9
    assert result["volume_m3"] == pytest.approx(volume, rel=1e-9)
    assert result["order_m3"] == pytest.approx(volume * 1.075, rel=1e-9)
    assert result["fibre_kg"] == pytest.approx(volume * 1.075 * 35, rel=1e-9)
    depths = [Fraction(str(t)) for *_, t in points]
    assert result["least_mm"] == float(min(depths))
    assert result["mean_mm"] == micrometres(sum(depths) / len(depths))
    assert result["area_m2"] == pytest.approx(Polygon(outline).area / 1e6, rel=1e-12)
    assert result["mean_times_area_m3"] == pytest.approx(Polygon(outline).area * float(sum(depths) / len(depths)) / 1e9, rel=1e-9)
    verdicts = [conforms(t, 75, 90, decision) for *_, t in points]
    assert [r["verdict"] for r in result["readings"]] == verdicts
    assert result["verdict"] == overall(verdicts)


@pytest.mark.parametrize("seed", range(8))
def test_a_tilted_plane_has_the_volume_at_its_centroid(tablet, seed):
    rng = random.Random(700 + seed)
    outline = valid_outline(rng)
    a, b = rng.randrange(-9, 10), rng.randrange(-9, 10)
    places = dict.fromkeys(map(tuple, outline)) | dict.fromkeys((rng.randrange(12_000), rng.randrange(12_000)) for _ in range(20))
    readings = [{"point": f"T{i}", "x_mm": x, "y_mm": y, "thickness_mm": (300_000 + a * x + b * y) / 1000} for i, (x, y) in enumerate(places)]
    given = CASES["topping--tilted-room"]["input"] | {"outline_mm": outline, "readings": readings}
    polygon = Polygon(outline)
    exact = polygon.area * (300 + (a * polygon.centroid.x + b * polygon.centroid.y) / 1000) / 1e9
    assert reckoned(tablet, "topping", given)["volume_m3"] == pytest.approx(exact, rel=0, abs=2e-9)


@pytest.mark.parametrize("seed", range(10))
def test_forecast_agrees_with_scipy_and_parabolas(tablet, seed):
    rng = random.Random(800 + seed)
    outline, decision = valid_outline(rng), some_decision(rng)
    spans = [(rng.randrange(2_000, 5_000), rng.randrange(0, 4_000), rng.randrange(4_500, 8_000)) for _ in range(4)]
    tops, beams = [], []
    for i, (x, near, far) in enumerate(spans):
        x += 1_600 * i
        levels = [rng.randrange(47_970_000, 47_990_000) / 1_000_000 for _ in range(3)]
        for end, y, level in zip(("near", "mid", "far"), (near, (near + far) / 2, far), levels):
            tops.append({"point": f"{i} {end}", "beam": f"B{i}", "x_mm": x, "y_mm": y, "level_m": level})
        exact = [Fraction(str(level)) * 1000 for level in levels]
        beams.append((exact[1] - (exact[0] + exact[2]) / 2, far - near))
    waste, step = rng.choice([0, 5, 7.5]), rng.choice([0.1, 0.25, 0.5])
    given = {"rail_level_m": 48.15, "design_mm": 80, "tolerance_minus_mm": 5, "beam_tops": tops, "overlay_mm": 90, "membrane_mm": 0.3, "outline_mm": outline, "waste_percent": waste, "supplier_step_m3": step, "decision": decision}
    shuffled = given | {"beam_tops": rng.sample(tops, len(tops))}
    result = reckoned(tablet, "topping-forecast", given)
    check_working(result)
    left = [float((Fraction("48.15") - Fraction(str(t["level_m"]))) * 1000 - Fraction("90.3")) for t in tops]
    assert [t["topping_mm"] for t in result["beam_tops"]] == left
    verdicts = [conforms(t, 75, None, decision) for t in left]
    assert [t["verdict"] for t in result["beam_tops"]] == verdicts
    assert result["verdict"] == overall(verdicts)
    assert (result["least_mm"], result["least_at"]) == (min(left), tops[left.index(min(left))]["point"])
    assert [b["camber_mm"] for b in result["beams"]] == pytest.approx([float(c) for c, _ in beams], abs=0.001)
    straight = triangulated(outline, [(t["x_mm"], t["y_mm"], d) for t, d in zip(tops, left)])
    # A parabola over its two chords: a sixth of the camber on average; beams count by their length.
    above = float(sum(c * length for c, length in beams) / sum(length for _, length in beams)) / 6
    volume = (straight - above * Polygon(outline).area) / 1e9
    assert result["volume_m3"] == pytest.approx(volume, rel=0, abs=1e-6)
    steps = volume * (1 + waste / 100) / step
    if abs(steps - round(steps)) > 1e-5:
        assert result["order_m3"] == pytest.approx(math.ceil(steps) * step, abs=1e-9)
    assert reckoned(tablet, "topping-forecast", shuffled)["volume_m3"] == pytest.approx(result["volume_m3"], abs=1e-6)


def test_two_depths_at_one_place_and_a_crossing_outline_are_refused(tablet):
    case = copy.deepcopy(CASES["topping--tilted-room"]["input"])
    refused(reckon(tablet, "topping", case | {"outline_mm": [[0, 0], [1000, 1000], [1000, 0], [0, 1000]]}), "/outline_mm")
    case["readings"][3] |= {"x_mm": 20, "y_mm": 20}
    refused(reckon(tablet, "topping", case), "/readings/3")
    forecast = copy.deepcopy(CASES["topping-forecast--invented-room"]["input"])
    refused(reckon(tablet, "topping-forecast", forecast | {"supplier_step_m3": 0}), "/supplier_step_m3")


# flatness


def profile(readings, x):
    for (x0, y0), (x1, y1) in itertools.pairwise(readings):
        if x0 <= x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    raise ValueError(x)


def worst_gap(readings, length, kind):
    """Every window that starts or ends on a reading; the hull as the highest of all chords."""
    first, last = readings[0][0], readings[-1][0]
    starts = {s for x, _ in readings for s in (x, x - length) if first <= s and s + length <= last} or {first}
    worst = Fraction(0)
    for start in starts:
        end = min(start + length, last)
        points = [(start, profile(readings, start)), *[r for r in readings if start < r[0] < end], (end, profile(readings, end))]
        if kind == "equal-offsets":
            (xa, ya), (xb, yb) = points[0], points[-1]
            worst = max([worst, *[abs(ya + (yb - ya) * (x - xa) / (xb - xa) - y) for x, y in points]])
        else:
            for (xa, ya), (xb, yb) in itertools.combinations(points, 2):
                worst = max([worst, *[ya + (yb - ya) * (x - xa) / (xb - xa) - y for x, y in points if xa <= x <= xb]])
    return worst


@pytest.mark.parametrize("seed", range(16))
def test_flatness_agrees_with_exact_fractions(tablet, seed):
    rng = random.Random(900 + seed)
    kind, length = rng.choice(["gap", "equal-offsets"]), rng.choice([1000, 2000, 3000])
    lines = []
    for i in range(4):
        places = sorted(rng.sample(range(0, 5_000_000), rng.randrange(3, 15)))
        lines.append({"line": str(i), "readings": [{"along_mm": x / 1000, "level_m": (48_150_000 + rng.randrange(-6_000, 6_000)) / 1_000_000} for x in places]})
    given = {"lines": lines, "straightedge_mm": length, "class": {"name": "as designed", "kind": kind, "gap_mm": 5}, "out_of_level": {"per_m_mm": 3, "overall_mm": 10}, "target_m": 48.15, "level_tolerance_mm": 5.5}
    result = reckoned(tablet, "flatness", given)
    check_working(result)
    for line, found in zip(lines, result["lines"], strict=True):
        readings = [(Fraction(str(r["along_mm"])), Fraction(str(r["level_m"])) * 1000) for r in line["readings"]]
        gap = micrometres(worst_gap(readings, length, kind))
        assert found["largest_gap_mm"] == gap
        span = readings[-1][0] - readings[0][0]
        assert found["shorter_than_straightedge"] == (span < length)
        levels = [y for _, y in readings]
        away, fall = max(abs(y - 48150) for y in levels), max(levels) - min(levels)
        assert (found["largest_level_deviation_mm"], found["out_of_level_mm"]) == (float(away), float(fall))
        allowed = min(micrometres(3 * span / 1000), 10)
        assert found["out_of_level_allowed_mm"] == allowed
        assert found["verdict"] == ("conforming" if gap <= 5 and away <= 5.5 and fall <= allowed else "nonconforming")


# cube-strength


def cube_verdict(fck, certified, results):
    verdicts = []
    for i in range(0, len(results), 6):
        group = results[i : i + 6]
        n, mean = len(group), sum(group) / len(group)
        if not certified and n < 3:
            verdicts.append("undetermined")
            continue
        above = (None if n == 1 else 1 if n <= 4 else 2) if certified else 4
        verdicts.append("conforming" if (above is None or mean >= fck + above) and min(group) >= fck - 4 else "nonconforming")
    return overall(verdicts)


@pytest.mark.parametrize("seed", range(24))
def test_cubes_agree_with_exact_fractions(tablet, seed):
    rng = random.Random(1000 + seed)
    name, fck = rng.choice([("C20/25", 25), ("GEN3", 20), ("RC25/30", 30), ("C28/35", 35)])
    certified, samples, results = rng.random() < 0.6, [], []
    for i in range(rng.choice([0, 1, 2, 3, 4, 5, 6, 7, 9, 13])):
        age = rng.choice([28, 28, 28, 7])
        middle = fck + rng.choice([-3, 2, 4, 6])
        cubes = [round(middle + rng.uniform(-2, 2), 1) for _ in range(rng.randrange(1, 4))]
        if rng.random() < 0.1:
            cubes.append(round(middle * 1.4, 1))
        samples.append({"sample": f"S{i}", "age_days": age, "cubes_MPa": cubes})
        exact = [Fraction(str(c)) for c in cubes]
        mean = sum(exact) / len(exact)
        counts = age == 28 and (max(exact) - min(exact)) * 100 <= 15 * mean
        results += [mean] if counts else []
    result = reckoned(tablet, "cube-strength", {"strength_class": name, "certified": certified, "samples": samples})
    check_working(result)
    assert [r["counts"] for r in result["results"]].count(True) == len(results)
    assert result["mean_MPa"] == (pytest.approx(float(sum(results) / len(results))) if results else None)
    assert result["least_MPa"] == (pytest.approx(float(min(results))) if results else None)
    assert result["verdict"] == cube_verdict(fck, certified, results)


@pytest.mark.parametrize("case", json.loads((DATA / "published" / "concrete.json").read_text())["identity_testing"]["cubes_for_C20/25"], ids=str)
def test_the_published_cubes_of_identity_testing(tablet, case):
    samples = [{"sample": f"S{i}", "age_days": 28, "cubes_MPa": [r]} for i, r in enumerate(case["MPa"])]
    result = reckoned(tablet, "cube-strength", {"strength_class": "C20/25", "certified": True, "samples": samples})
    assert result["verdict"] == ("conforming" if case["ok"] else "nonconforming")


# maturity and evaporation


RATES = {
    "nurse-saul": lambda t, given: (t - given["datum_C"]) / (given["reference_C"] - given["datum_C"]),
    "arrhenius": lambda t, given: math.exp(given["activation_K"] * (1 / (273.15 + given["reference_C"]) - 1 / (273.15 + t))),
    "ec2": lambda t, given: math.exp(13.65 - 4000 / (273 + t)),
}


@pytest.mark.parametrize("seed", range(15))
def test_maturity_agrees_with_scipy_quadrature(tablet, seed):
    rng = random.Random(1100 + seed)
    hours = numpy.cumsum([rng.uniform(0.2, 9) for _ in range(rng.randrange(2, 12))])
    celsius = [rng.uniform(-15, 60) for _ in hours]
    given = {"datum_C": rng.choice([-10, -5, 0]), "reference_C": 20, "model": list(RATES)[seed % 3], "activation_K": 5000, "target_equivalent_age_h": 1e5}
    given["temperatures"] = [{"at_h": float(h), "concrete_C": c} for h, c in zip(hours, celsius)]

    def integral(rate, until):
        def weighed(hour):
            t = numpy.interp(hour, hours, celsius)
            return rate(t) if t >= given["datum_C"] else 0.0

        total = 0.0
        for (a, ta), (b, tb) in itertools.pairwise(zip(hours, celsius)):
            if a < until:
                breaks = [a + (b - a) * (given["datum_C"] - ta) / (tb - ta)]
                ends = sorted({a, min(b, until), *[x for x in breaks if a < x < min(b, until)]})
                total += sum(quad(weighed, low, high, epsabs=1e-12, epsrel=1e-12)[0] for low, high in itertools.pairwise(ends))
        return total

    rate = RATES[given["model"]]
    age = integral(lambda t: rate(t, given), hours[-1])
    result = reckoned(tablet, "maturity", given)
    check_working(result)
    assert result["maturity_C_h"] == pytest.approx(integral(lambda t: t - given["datum_C"], hours[-1]), rel=1e-8, abs=1e-8)
    assert result["equivalent_age_h"] == pytest.approx(age, rel=1e-7, abs=1e-8)
    assert (result["reached_at_h"], result["verdict"]) == (None, "undetermined")
    cold = sum(float(numpy.interp(h, hours, celsius) < 5) for h in numpy.linspace(hours[0], hours[-1], 20_001)[:-1]) * (hours[-1] - hours[0]) / 20_000
    assert result["hours_below_5_C"] == pytest.approx(cold, abs=0.05)
    if age > 0.1:
        given["target_equivalent_age_h"] = age * 0.6
        at = brentq(lambda h: integral(lambda t: rate(t, given), h) - age * 0.6, hours[0], hours[-1], xtol=1e-10)
        result = reckoned(tablet, "maturity", given)
        check_working(result)
        assert result["verdict"] == "conforming"
        assert result["reached_at_h"] == pytest.approx(at, abs=1e-5)


@pytest.mark.parametrize("seed", range(10))
def test_evaporation_agrees_with_the_published_formula(tablet, seed):
    rng = random.Random(1200 + seed)
    tc, ta, r, v, limit = rng.uniform(0, 40), rng.uniform(-5, 40), rng.uniform(0, 1), rng.uniform(0, 60), rng.uniform(0, 2)
    given = {"concrete_C": tc, "air_C": ta, "humidity_percent": r * 100, "wind_km_per_h": v, "limit_kg_per_m2_h": limit}
    rate = max(0, 5 * ((tc + 18) ** 2.5 - r * (ta + 18) ** 2.5) * (v + 4) * 1e-6)
    result = reckoned(tablet, "evaporation", given)
    check_working(result)
    assert result["rate_kg_per_m2_h"] == pytest.approx(rate, rel=1e-9, abs=1e-12)
    assert result["verdict"] == ("conforming" if rate <= limit else "nonconforming")
    assert bool(result["advice"]) == (rate > limit)


@pytest.mark.parametrize(
    ("case", "change", "place"),
    [
        ("evaporation--published-point", {"humidity_percent": 101}, "/humidity_percent"),
        ("evaporation--published-point", {"concrete_C": -19}, "/concrete_C"),
        ("maturity--cooling", {"datum_C": 20}, "/reference_C"),
        ("maturity--cooling", {"model": "arrhenius", "activation_K": None}, "/activation_K"),
        ("maturity--cooling", {"temperatures": [{"at_h": 1, "concrete_C": 1}, {"at_h": 1, "concrete_C": 2}]}, "/temperatures/1/at_h"),
        ("cube-strength--three-samples", {"strength_class": "C20/26"}, "/strength_class"),
        ("cube-strength--three-samples", {"samples": [{"sample": "a", "age_days": 28, "cubes_MPa": []}]}, "/samples/0/cubes_MPa"),
        ("flatness--published-example", {"straightedge_mm": 0}, "/straightedge_mm"),
        ("flatness--published-example", {"target_m": None}, "/target_m"),
    ],
)
def test_what_cannot_be_is_refused_at_its_place(tablet, case, change, place):
    refused(reckon(tablet, CASES[case]["reckoning"], CASES[case]["input"] | change), place)
