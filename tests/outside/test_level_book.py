"""Level books and the two-peg test, reckoned again in Python's decimal and fractions. Random books come from fixed seeds."""

import copy
import json
import math
import random
from decimal import ROUND_HALF_UP, Decimal, getcontext
from fractions import Fraction

import pytest
from program import DATA
from test_reckon import CASES, check_working, reckon, reckoned, refused

getcontext().prec = 50
MICRO = Decimal("0.000001")


def exactly(tablet, name, given):
    """What is reckoned, with decimals as they are written."""
    ran = reckon(tablet, name, json.dumps(given, default=float))
    assert ran.code == 0, ran
    check_working(ran.json())
    return json.loads(ran.out, parse_float=Decimal, parse_int=Decimal)


def by_hand(book):
    """Levels and set-up of each row, as booked, by height of collimation and written anew."""
    level, collimation, setup, rows = book["benchmark"]["level_m"], None, 0, []
    for sight in book["sights"]:
        reading = sight.get("inter_m", sight.get("fore_m"))
        if reading is not None:
            level = collimation - reading
        rows.append((level, setup))
        if "back_m" in sight:
            collimation, setup = level + sight["back_m"], setup + 1
    return rows, setup


def random_book(rng):
    digits = rng.choice([1, 1, 1000])
    reading = lambda: Decimal(rng.randrange(-5000 * digits, 5000 * digits + 1)) / (1000 * digits)
    setups = rng.randrange(1, 7)
    sights = [{"point": "TBM", "back_m": reading()}]
    for setup in range(setups):
        sights += [{"point": f"{setup}/{i}", "inter_m": reading()} for i in range(rng.randrange(0, 6))]
        sights.append({"point": f"CP{setup}", "fore_m": reading()} | ({"back_m": reading()} if setup < setups - 1 else {}))
    book = {"method": rng.choice(["height-of-collimation", "rise-and-fall"]), "benchmark": {"point": "TBM", "level_m": Decimal(rng.randrange(-50_000, 150_000)) / 1000}, "sights": sights}
    missed = Decimal(rng.randrange(-14_000, 14_001)) / 1_000_000
    book["closing"] = {"point": sights[-1]["point"], "level_m": by_hand(book)[0][-1][0] - missed}
    if rng.random() < 0.5:
        book["allowable"] = {"per_root_setup_mm": Decimal(rng.choice([3, 5, 6.5]))}
    else:
        book["allowable"] = {"per_root_km_mm": Decimal(12), "distance_km": Decimal(rng.randrange(10, 1500)) / 1000}
    return book


@pytest.mark.parametrize("seed", range(40))
def test_a_book_reduces_as_in_decimal(tablet, seed):
    book = random_book(random.Random(1000 + seed))
    found = exactly(tablet, "level-book", book)
    rows, setups = by_hand(book)
    misclosure = (rows[-1][0] - book["closing"]["level_m"]) * 1000
    rule = book["allowable"]
    if "per_root_setup_mm" in rule:
        limit, under = rule["per_root_setup_mm"], Decimal(setups)
    else:
        limit, under = rule["per_root_km_mm"], rule["distance_km"]
    within = misclosure**2 <= limit**2 * under
    assert found["setups"] == setups
    assert found["misclosure_mm"] == misclosure
    assert float(found["allowable_mm"]) == pytest.approx(float(limit * under.sqrt()), abs=1e-9)
    assert found["verdict"] == ("conforming" if within else "nonconforming")
    for (level, setup), row, sight in zip(rows, found["rows"], book["sights"], strict=True):
        share = (misclosure / 1000 * setup / setups).quantize(MICRO, ROUND_HALF_UP) if within and setups > 1 else 0
        assert (row["point"], row["setup"]) == (sight["point"], setup)
        assert row["level_m"] == level
        assert row["adjusted_level_m"] == level - share
    back, fore = (sum(s.get(key, 0) for s in book["sights"]) for key in ("back_m", "fore_m"))
    checks = found["checks"]
    assert (checks["sum_back_m"], checks["sum_fore_m"], checks["last_minus_first_m"]) == (back, fore, back - fore)
    if book["method"] == "rise-and-fall":
        rises = sum(row["rise_m"] or 0 for row in found["rows"])
        falls = sum(row["fall_m"] or 0 for row in found["rows"])
        assert (checks["sum_rise_m"], checks["sum_fall_m"]) == (rises, falls)
        assert rises - falls == back - fore
    else:
        planes = [row["collimation_m"] for row in found["rows"] if row["collimation_m"] is not None]
        assert planes == [row[0] + s["back_m"] for row, s in zip(rows, book["sights"], strict=True) if "back_m" in s]


def slips(reading):
    """Every slip of a reading, from its four digits written out."""
    sign, digits = ("-" if reading < 0 else ""), f"{int(abs(reading) * 1000):04}"
    for i in range(3):
        swapped = digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]
        if swapped != digits:
            yield Decimal(f"{sign}{swapped[0]}.{swapped[1:]}"), "transposed"
    for slip, unit in (("metre", "1"), ("decimetre", "0.1"), ("centimetre", "0.01")):
        for way in (1, -1):
            size = abs(reading) + way * Decimal(unit)
            if size >= 0:
                yield (size if reading >= 0 else -size), slip


@pytest.mark.parametrize("seed", range(30))
def test_suspects_agree_with_a_search_by_digits(tablet, seed):
    rng = random.Random(2000 + seed)
    tolerance = rng.choice([2, 3, 5])
    given = {"method": "height-of-collimation", "benchmark": {"point": "TBM", "level_m": 47}, "allowable": {"per_root_setup_mm": 5}}
    given["sights"], given["expected"] = [{"point": "TBM", "back_m": Decimal("1.5")}], []
    for i in range(8):
        meant = Decimal(rng.randrange(700, 2300)) / 1000
        booked = rng.choice([r for r, _ in slips(meant) if abs(r) <= 5]) if rng.random() < 0.4 else meant + Decimal(rng.randrange(-tolerance, tolerance + 1)) / 1000
        given["sights"].append({"point": f"P{i}", "inter_m": booked})
        given["expected"].append({"point": f"P{i}", "level_m": Decimal("48.5") - meant, "tolerance_mm": tolerance})
    # A sound reading, so that the set-up never misses as one.
    given["sights"].append({"point": "sound", "inter_m": Decimal("1.111")})
    given["expected"].append({"point": "sound", "level_m": Decimal("47.389"), "tolerance_mm": tolerance})
    expected = []
    for row, (sight, at) in enumerate(zip(given["sights"][1:], given["expected"], strict=True), 1):
        off = lambda r: abs(Decimal("48.5") - r - at["level_m"]) * 1000
        if off(sight["inter_m"]) > 5 * tolerance:
            explains = [(off(r), r) for r, _ in slips(sight["inter_m"]) if abs(r) <= 5 and off(r) <= tolerance]
            if explains:
                expected.append((row, min(explains)[0]))
    found = [(s["sight"], abs(Decimal("48.5") - s["perhaps_m"] - given["expected"][int(s["sight"]) - 1]["level_m"]) * 1000) for s in exactly(tablet, "level-book", given)["suspects"]]
    assert found == expected


@pytest.mark.parametrize("seed", range(20))
def test_two_peg_agrees_with_fractions(tablet, seed):
    rng = random.Random(3000 + seed)
    reading = lambda: Decimal(rng.randrange(300, 3000)) / 1000
    mid = {"a_m": reading(), "b_m": reading()}
    # Pegs that a staff on both can be read from near A: 1.5 m on A leaves 1.4 m upwards on B.
    while abs(mid["a_m"] - mid["b_m"]) > Decimal("1.4"):
        mid = {"a_m": reading(), "b_m": reading()}
    tilt = Decimal(rng.randrange(-12, 13)) / 1000
    end = {"a_m": Decimal("1.5"), "b_m": Decimal("1.5") - (mid["a_m"] - mid["b_m"]) + tilt}
    distance, allowable = Decimal(rng.randrange(200, 700)) / 10, Decimal(rng.randrange(0, 4))
    found = exactly(tablet, "two-peg", {"mid": mid, "end": end, "distance_m": distance, "allowable_mm_per_10_m": allowable})
    error = (end["a_m"] - end["b_m"] - mid["a_m"] + mid["b_m"]) * 1000
    assert found["true_difference_m"] == mid["a_m"] - mid["b_m"]
    assert found["apparent_difference_m"] == end["a_m"] - end["b_m"]
    assert found["error_mm"] == error == -tilt * 1000
    rate = Fraction(error) * 10 / Fraction(distance)
    assert float(found["error_mm_per_10_m"]) == pytest.approx(float(rate), abs=1e-9)
    assert found["verdict"] == ("conforming" if abs(rate) <= Fraction(allowable) else "nonconforming")


def sound():
    return copy.deepcopy(CASES["level-book--invented-plot"]["input"])


def test_books_that_cannot_be_are_refused_by_place(tablet):
    def broken(place, change):
        book = sound()
        change(book)
        refused(reckon(tablet, "level-book", book), place)

    broken("/sights/0/point", lambda b: b["sights"][0].update(point="A0"))
    broken("/sights/0/back_m", lambda b: b["sights"].pop(0))
    broken("/sights", lambda b: b["sights"].clear())
    broken("/sights/3/inter_m", lambda b: b["sights"][3].update(inter_m=1248))
    broken("/sights/3/inter_m", lambda b: b["sights"][3].update(fore_m=1.2))
    broken("/sights/3", lambda b: b["sights"][3].pop("inter_m"))
    broken("/sights/19", lambda b: b["sights"][18].pop("back_m"))
    broken("/sights/23/fore_m", lambda b: b["sights"][18].pop("back_m"))
    broken("/sights/24", lambda b: b["sights"].append({"point": "A1", "inter_m": 1.2}))
    broken("/sights/24/fore_m", lambda b: b["sights"].append({"point": "TBM", "fore_m": 1.2}))
    broken("/closing/point", lambda b: b["sights"].pop())
    broken("/closing/point", lambda b: b["closing"].update(point="TBM 2"))
    broken("/closing/level_m", lambda b: b["closing"].update(level_m=47.216))
    broken("/allowable/per_root_setup_mm", lambda b: b["allowable"].clear())
    broken("/allowable/distance_km", lambda b: b.update(allowable={"per_root_km_mm": 12}))
    broken("/expected/1/point", lambda b: b["expected"][1].update(point="A1"))
    refused(reckon(tablet, "level-book", json.dumps(sound())[:-1] + ', "closing": {"point": "TBM", "level_m": 47.215}}'), "/closing")


def test_faults_of_a_book_come_all_at_once(tablet):
    book = sound()
    book["sights"][0]["point"], book["sights"][5]["inter_m"], book["closing"]["level_m"] = "A0", -5.001, 47.3
    ran = reckon(tablet, "level-book", book)
    for place in ("/sights/0/point", "/sights/5/inter_m", "/closing/level_m"):
        refused(ran, place)


def test_ten_thousand_sights_are_taken(tablet):
    sights = [{"point": "TBM", "back_m": 1.5}] + [{"point": f"P{i}", "fore_m": 1.4, "back_m": 1.5} for i in range(9_998)] + [{"point": "end", "fore_m": 1.4}]
    given = {"method": "rise-and-fall", "benchmark": {"point": "TBM", "level_m": 0}, "sights": sights, "allowable": {"per_root_setup_mm": 5}}
    result = reckoned(tablet, "level-book", given)
    assert len(result["rows"]) == 10_000 and result["rows"][-1]["level_m"] == pytest.approx(999.9, abs=1e-9)
    assert len(result["working"]) < 500
    check_working(result)


def test_published_books_are_those_of_the_file(tablet):
    for case in json.loads((DATA / "published" / "level-book.json").read_text())["cases"]:
        given = {key: case[key] for key in ("benchmark", "sights", "closing") if key in case}
        given |= {"method": "height-of-collimation", "allowable": {"per_root_setup_mm": case.get("per_root_setup_mm", 5)}}
        result = reckoned(tablet, "level-book", given)
        levels = {row["point"]: row["level_m"] for row in result["rows"]}
        for point, level in case["expect"]["level_m"].items():
            assert levels[point] == pytest.approx(level, abs=1e-9), point
        assert math.isclose(sum(r["collimation_m"] or 0 for r in result["rows"]), sum(case["expect"]["collimation_m"]), abs_tol=1e-6)
