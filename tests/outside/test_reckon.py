"""The contract of `gaugerod reckon`, and its figures against published values, shapely, numpy and scipy.

Case files lie in tests/data/reckon: each names its source. Random cases come from one fixed seed.
"""

import copy
import json
import math
import random
import re

import jsonschema
import numpy
import pytest
from arithmetic import evaluate
from program import DATA
from scipy.stats import norm
from shapely.geometry import LineString, Polygon

CASES = {f.stem: json.loads(f.read_text()) for f in sorted((DATA / "reckon").glob("*.json"))}
SIMPLE = {"rule": "simple", "expanded_uncertainty_mm": 0, "coverage_factor": 2}
FAULT = re.compile(r"^((/[^:]*)?|\d+:\d+): \S")


def reckon(tablet, name, given):
    text = given if isinstance(given, (str, bytes)) else json.dumps(given)
    return tablet.run("reckon", name, given=text)


def reckoned(tablet, name, given):
    ran = reckon(tablet, name, given)
    assert ran.code == 0, ran
    assert ran.err == "", ran
    return ran.json()


def at(document, pointer):
    for part in pointer.strip("/").split("/"):
        document = document[int(part)] if isinstance(document, list) else document[part]
    return document


@pytest.fixture(scope="module")
def names(tablet):
    ran = tablet.run("reckon", "--list")
    assert ran.code == 0, ran
    return [line.split()[0] for line in ran.out.splitlines()]


@pytest.fixture(scope="module")
def schemas(tablet, names):
    return {name: tablet.run("reckon", name, "--schema").json() for name in names}


def test_every_reckoning_is_listed_once_and_has_a_case(names):
    assert len(names) == len(set(names))
    assert {"build-up", "two-peg", "level-book", "common-shift", "bearing", "limit", "void", "ventilation", "layer-order", "u-value", "topping-forecast", "evaporation", "topping", "flatness", "maturity", "cube-strength"} <= set(names)
    assert set(names) == {case["reckoning"] for case in CASES.values()}


def parts(schema):
    """The schema of the input and the one of the output."""
    found = schema.get("properties", schema)
    return found["input"], found["output"]


def validator(schema, part):
    whole = dict(part)
    if "$defs" in schema:
        whole.setdefault("$defs", schema["$defs"])
    return jsonschema.Draft202012Validator(whole)


def test_schemas_are_valid_2020_12(schemas):
    for schema in schemas.values():
        for part in parts(schema):
            jsonschema.Draft202012Validator.check_schema(part)
            assert part.get("type") == "object" or "$ref" in part, part


@pytest.mark.parametrize("case", CASES, ids=str)
def test_case_files_reckon_as_their_source_says(tablet, schemas, case):
    case = CASES[case]
    schema = schemas[case["reckoning"]]
    takes, gives = parts(schema)
    validator(schema, takes).validate(case["input"])
    result = reckoned(tablet, case["reckoning"], case["input"])
    validator(schema, gives).validate(result)
    for pointer, expected in case["expect"].items():
        found = at(result, pointer)
        if isinstance(expected, (int, float)) and not isinstance(expected, bool):
            assert found == pytest.approx(expected, rel=0, abs=case.get("tolerance", {}).get(pointer, 1e-9)), pointer
        else:
            assert found == expected, pointer


def check_working(result):
    working = result["working"]
    assert working
    for step in working:
        assert step["source"].strip() and step["step"].strip(), step
        value = float(step["value"])
        assert evaluate(step["formula"]) == pytest.approx(value, rel=1e-6, abs=1e-6), step


@pytest.mark.parametrize("case", CASES, ids=str)
def test_every_formula_of_the_working_gives_its_value(tablet, case):
    case = CASES[case]
    check_working(reckoned(tablet, case["reckoning"], case["input"]))


@pytest.mark.parametrize("case", CASES, ids=str)
def test_the_working_is_readable_text(tablet, case):
    case = CASES[case]
    ran = tablet.run("reckon", case["reckoning"], "--working", given=json.dumps(case["input"]))
    assert ran.code == 0, ran
    for step in reckoned(tablet, case["reckoning"], case["input"])["working"]:
        assert step["step"] in ran.out and step["source"] in ran.out, step


def test_input_from_a_file_reckons_like_standard_input(tablet):
    case = CASES["void--invented-plot"]
    (tablet.folder / "void.json").write_text(json.dumps(case["input"]))
    ran = tablet.run("reckon", "void", "--in", "void.json")
    assert ran.code == 0 and ran.json() == reckoned(tablet, "void", case["input"])


def refused(ran, place=None):
    assert ran.code == 2, ran
    assert ran.out == "", ran
    lines = ran.err.splitlines()
    assert lines and all(FAULT.match(line) for line in lines), ran
    if place is not None:
        assert any(line.startswith(place + ":") or line.startswith(place + "/") for line in lines), (place, ran)


def places(document, pointer=""):
    """Every object in the input with its pointer."""
    if isinstance(document, dict):
        yield pointer, document
        for key, value in document.items():
            yield from places(value, f"{pointer}/{key}")
    elif isinstance(document, list):
        for i, value in enumerate(document):
            yield from places(value, f"{pointer}/{i}")


def first_of_each_reckoning():
    found = {}
    for key, case in CASES.items():
        found.setdefault(case["reckoning"], key)
    return sorted(found.values())


@pytest.mark.parametrize("case", first_of_each_reckoning())
def test_an_unknown_key_is_named_under_its_object(tablet, case):
    case = CASES[case]
    for pointer in dict(places(case["input"])):
        broken = copy.deepcopy(case["input"])
        target = broken if pointer == "" else at(broken, pointer)
        target["staff"] = 1
        refused(reckon(tablet, case["reckoning"], broken), f"{pointer}/staff")


@pytest.mark.parametrize("case", first_of_each_reckoning())
def test_values_of_the_wrong_kind_are_refused_at_their_place(tablet, case):
    case = CASES[case]
    for pointer, members in places(case["input"]):
        for key in members:
            for wrong in ({"no": 1}, [[[]]], True):
                if isinstance(members[key], bool) and wrong is True:
                    continue
                broken = copy.deepcopy(case["input"])
                (broken if pointer == "" else at(broken, pointer))[key] = wrong
                refused(reckon(tablet, case["reckoning"], broken), f"{pointer}/{key}")


@pytest.mark.parametrize("case", first_of_each_reckoning())
def test_required_keys_are_asked_for(tablet, schemas, case):
    case = CASES[case]
    takes, _ = parts(schemas[case["reckoning"]])
    for key in takes["required"]:
        broken = copy.deepcopy(case["input"])
        del broken[key]
        refused(reckon(tablet, case["reckoning"], broken), f"/{key}")


@pytest.mark.parametrize("text", ["", "{", "[1,2", '{"a": NaN}', '{"a": 1e999999}', "nothing", "\x00", '{"a": 1} {"b": 2}', b"\xff\xfe{}"])
def test_text_that_is_no_json_is_refused_with_line_and_column(tablet, text):
    ran = reckon(tablet, "void", text)
    refused(ran)


def test_deep_nesting_and_great_length_are_refused(tablet):
    refused(reckon(tablet, "void", "[" * 100_000))
    case = copy.deepcopy(CASES["void--invented-plot"]["input"])
    case["ground"] = [{"point": f"G{i}", "level_m": 47.5} for i in range(400_000)]
    refused(reckon(tablet, "void", case), "/ground")


def test_a_length_finer_than_a_micrometre_is_refused(tablet):
    case = copy.deepcopy(CASES["void--invented-plot"]["input"])
    case["ground"][1]["level_m"] = 47.5680001
    refused(reckon(tablet, "void", case), "/ground/1/level_m")


def test_duplicate_points_and_duplicate_keys_are_refused(tablet):
    case = copy.deepcopy(CASES["void--invented-plot"]["input"])
    case["ground"][3]["point"] = "G1"
    refused(reckon(tablet, "void", case), "/ground/3")
    refused(reckon(tablet, "void", '{"lowest_point_m": 1, "lowest_point_m": 2, "required_void_mm": 1, "ground": []}'))


def test_all_faults_are_named_at_once(tablet):
    case = copy.deepcopy(CASES["void--invented-plot"]["input"])
    case["ground"][0]["level_m"], case["ground"][2]["level_m"], case["required_void_mm"] = "low", None, -1
    ran = reckon(tablet, "void", case)
    for place in ("/ground/0/level_m", "/ground/2/level_m", "/required_void_mm"):
        refused(ran, place)


@pytest.mark.parametrize("args", [["reckon"], ["reckon", "no-such-reckoning"], ["reckon", "void", "--nonsense"], ["nonsense"]])
def test_wrong_usage_ends_with_64(tablet, args):
    ran = tablet.run(*args)
    assert ran.code == 64 and ran.err, ran


def test_a_missing_input_file_is_named(tablet):
    ran = tablet.run("reckon", "void", "--in", "nowhere.json")
    assert ran.code == 2 and "nowhere.json" in ran.err, ran


# Against independent arithmetic, numpy, scipy and shapely.


def conforms(x, least, most, decision):
    """JCGM 106 decision rules, written anew."""
    u = decision["expanded_uncertainty_mm"] if decision["rule"] == "guarded" else 0
    low_ok = least is None or x >= least + u
    high_ok = most is None or x <= most - u
    if low_ok and high_ok:
        return "conforming"
    low_bad = least is not None and x < least - u
    high_bad = most is not None and x > most + u
    return "nonconforming" if low_bad or high_bad or u == 0 else "undetermined"


def probability(x, least, most, decision):
    u = decision["expanded_uncertainty_mm"] / decision["coverage_factor"]
    if u == 0:
        return float((least is None or x >= least) and (most is None or x <= most))
    above = norm.cdf((most - x) / u) if most is not None else 1
    return above - (norm.cdf((least - x) / u) if least is not None else 0)


def overall(verdicts):
    if "nonconforming" in verdicts:
        return "nonconforming"
    return "undetermined" if "undetermined" in verdicts or not verdicts else "conforming"


def some_decision(rng):
    return {"rule": rng.choice(["simple", "guarded"]), "expanded_uncertainty_mm": rng.choice([0, 1, 2, 3.5]), "coverage_factor": 2}


@pytest.mark.parametrize("seed", range(12))
def test_limit_agrees_with_scipy(tablet, seed):
    rng = random.Random(seed)
    decision = some_decision(rng)
    least, most = rng.choice([(90, None), (None, 120), (90, 120), (90, 92)])
    values = [rng.randrange(85_000, 125_000) / 1000 for _ in range(30)] + [90, 120, 92, 88]
    given = {"quantity": "a width", "decision": decision, "readings": [{"point": str(i), "value_mm": v} for i, v in enumerate(values)]}
    given |= {k: v for k, v in (("least_mm", least), ("most_mm", most)) if v is not None}
    result = reckoned(tablet, "limit", given)
    check_working(result)
    for value, reading in zip(values, result["readings"], strict=True):
        assert reading["verdict"] == conforms(value, least, most, decision), (value, reading)
        assert reading["probability_conforming"] == pytest.approx(probability(value, least, most, decision), abs=2e-6)
        margin = min([value - limit for limit in (least,) if limit is not None] + [limit - value for limit in (most,) if limit is not None])
        assert reading["margin_mm"] == pytest.approx(margin, abs=1e-9)
    assert result["verdict"] == overall([r["verdict"] for r in result["readings"]])


@pytest.mark.parametrize("case", json.loads((DATA / "published" / "conformity.json").read_text())["examples"], ids=str)
def test_probability_agrees_with_the_published_examples(tablet, case):
    # Scaled by 100 so that lengths stay in whole micrometres; the normal law does not mind.
    given = {"quantity": "published example", "decision": {"rule": "simple", "expanded_uncertainty_mm": round(case["u"] * 200, 6), "coverage_factor": 2}}
    given["readings"] = [{"point": "1", "value_mm": round(case["y"] * 100 + 1000, 6)}]
    given |= {f"{ours}_mm": round(case[theirs] * 100 + 1000, 6) for ours, theirs in (("least", "lower"), ("most", "upper")) if theirs in case}
    result = reckoned(tablet, "limit", given)
    assert result["readings"][0]["probability_conforming"] == pytest.approx(case["p"], abs=0.00006)


@pytest.mark.parametrize("seed", range(8))
def test_bearing_agrees_with_numpy_and_scipy(tablet, seed):
    rng = random.Random(100 + seed)
    decision, target = some_decision(rng), 47_810
    points = []
    for wall, y in zip("ABC", (0, 4000, 7615)):
        for i in range(5):
            along = 200 + 1600 * i
            level = (target + rng.randrange(-14, 9)) / 1000
            points.append({"point": f"{wall}{i}", "wall": wall, "along_mm": along, "x_mm": along, "y_mm": y, "level_m": level})
    given = {"target_m": target / 1000, "tolerance_plus_mm": 5, "tolerance_minus_mm": 10, "largest_difference_mm": 8, "points": points, "decision": decision}
    result = reckoned(tablet, "bearing", given)
    check_working(result)
    verdicts = []
    for point, found in zip(points, result["points"], strict=True):
        deviation = round(point["level_m"] * 1000) - target
        assert found["deviation_mm"] == deviation and found["to_target_mm"] == -deviation
        assert found["verdict"] == conforms(deviation, -10, 5, decision)
        assert found["probability_conforming"] == pytest.approx(probability(deviation, -10, 5, decision), abs=2e-6)
        verdicts.append(found["verdict"])
    wider = dict(decision, expanded_uncertainty_mm=math.sqrt(2) * decision["expanded_uncertainty_mm"])
    for found in result["neighbours"]:
        assert found["verdict"] == conforms(abs(found["difference_mm"]), None, 8, wider), found
        verdicts.append(found["verdict"])
    assert len(result["neighbours"]) == 12
    assert result["verdict"] == overall(verdicts)
    matrix = numpy.array([[1, p["x_mm"] / 1000, p["y_mm"] / 1000] for p in points])
    levels = numpy.array([p["level_m"] * 1000 for p in points])
    fit, *_ = numpy.linalg.lstsq(matrix, levels - levels.mean(), rcond=None)
    rms = math.sqrt(float(numpy.mean((levels - levels.mean() - matrix @ fit) ** 2)))
    plane = result["plane"]
    assert (plane["slope_x_mm_per_m"], plane["slope_y_mm_per_m"], plane["rms_mm"]) == pytest.approx((fit[1], fit[2], rms), abs=1e-6)


@pytest.mark.parametrize("seed", range(8))
def test_void_agrees_with_plain_arithmetic(tablet, seed):
    rng = random.Random(200 + seed)
    decision = some_decision(rng)
    levels = [rng.randrange(47_550_000, 47_620_000) / 1_000_000 for _ in range(9)]
    given = {"lowest_point_m": 47.785, "required_void_mm": 200, "decision": decision, "ground": [{"point": f"G{i}", "level_m": v} for i, v in enumerate(levels)]}
    result = reckoned(tablet, "void", given)
    check_working(result)
    u = decision["expanded_uncertainty_mm"] if decision["rule"] == "guarded" else 0
    for level, found in zip(levels, result["ground"], strict=True):
        void = (47_785_000 - round(level * 1_000_000)) / 1000
        assert found["void_mm"] == pytest.approx(void, abs=1e-9)
        assert found["verdict"] == conforms(void, 200, None, decision)
        assert found["dig_mm"] == pytest.approx(max(0, 200 + u - void), abs=1e-9)
    assert result["least_void_mm"] == pytest.approx(min(f["void_mm"] for f in result["ground"]), abs=1e-9)


def random_outline(rng):
    """A star-shaped, so simple, polygon in whole millimetres."""
    corners = rng.randrange(4, 9)
    turns = sorted(rng.sample(range(0, 360, 20), corners))
    outline = [[round(6000 + rng.randrange(2500, 6000) * math.cos(math.radians(a))), round(6000 + rng.randrange(2500, 6000) * math.sin(math.radians(a)))] for a in turns]
    return outline if rng.random() < 0.5 else outline[::-1]


@pytest.mark.parametrize("seed", range(12))
def test_ventilation_agrees_with_shapely(tablet, seed):
    rng = random.Random(300 + seed)
    outline = random_outline(rng)
    while not Polygon(outline).is_valid:
        outline = random_outline(rng)
    polygon, n = Polygon(outline), len(outline)
    edges = [LineString([outline[i], outline[(i + 1) % n]]) for i in range(n)]
    exposed = sorted(rng.sample(range(n), rng.randrange(2, n + 1)))
    openings = [{"edge": e, "along_mm": rng.randrange(1, int(edges[e].length)), "equivalent_area_mm2": rng.choice([3000, 6000, 9000])} for e in exposed for _ in range(rng.randrange(0, 4))]
    given = {"outline_mm": outline, "exposed_edges": exposed, "openings": openings, "per_run_mm2_per_m": 1500, "per_area_mm2_per_m2": 500}
    result = reckoned(tablet, "ventilation", given)
    check_working(result)
    run, area = sum(edges[e].length for e in exposed) / 1000, polygon.area / 1e6
    assert result["floor_area_m2"] == pytest.approx(area, abs=1e-6)
    assert result["exposed_perimeter_m"] == pytest.approx(run, abs=1e-5)
    assert result["required_mm2"] == pytest.approx(max(run * 1500, area * 500), abs=0.01)
    assert result["governs"] == ("run" if run * 1500 >= area * 500 else "area")
    provided = sum(o["equivalent_area_mm2"] for o in openings)
    assert result["provided_mm2"] == provided
    assert result["shortfall_mm2"] == pytest.approx(max(0, max(run * 1500, area * 500) - provided), abs=0.01)

    def angle(e):
        (x0, y0), (x1, y1) = edges[e].coords
        return math.degrees(math.atan2(y1 - y0, x1 - x0))

    def opposite(a, b):
        turn = abs(angle(a) - angle(b)) % 360
        return min(turn, 360 - turn) >= 120

    vented = {o["edge"] for o in openings}
    assert result["opposed"] == any(opposite(a, b) for a in vented for b in vented if a < b)
    possible = any(opposite(a, b) for a in exposed for b in exposed if a < b)
    if provided < max(run * 1500, area * 500) or (possible and not result["opposed"]):
        assert result["verdict"] == "nonconforming"
    elif not possible:
        assert result["verdict"] == "undetermined"
    else:
        assert result["verdict"] == "conforming"


def test_a_crossing_outline_and_openings_out_of_place_are_refused(tablet):
    case = CASES["ventilation--approved-document-c"]["input"]
    refused(reckon(tablet, "ventilation", case | {"outline_mm": [[0, 0], [1000, 1000], [1000, 0], [0, 1000]]}), "/outline_mm")
    refused(reckon(tablet, "ventilation", case | {"openings": [{"edge": 0, "along_mm": 10001, "equivalent_area_mm2": 1}]}), "/openings/0")
    refused(reckon(tablet, "ventilation", case | {"exposed_edges": [1]}), "/openings/0")


@pytest.mark.parametrize("seed", range(10))
def test_covered_length_agrees_with_shapely(tablet, seed):
    rng = random.Random(400 + seed)
    case = copy.deepcopy(CASES["layer-order--gas-under-membrane"]["input"])
    outline = random_outline(rng)
    while not Polygon(outline).is_valid:
        outline = random_outline(rng)
    path = [[rng.randrange(0, 12_000), rng.randrange(0, 12_000)] for _ in range(rng.randrange(2, 6))]
    case["plan"] = {"membrane_mm": outline, "pipes": [{"service": "gas", "path_mm": path}]}
    result = reckoned(tablet, "layer-order", case)
    length = sum(LineString(path[i : i + 2]).intersection(Polygon(outline)).length for i in range(len(path) - 1))
    assert result["covered_length_mm"] == pytest.approx(length, abs=0.01)
