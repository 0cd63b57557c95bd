"""Cut lists and setting-out against independent methods: HiGHS (scipy) over all patterns, plain arithmetic.

Random cases come from fixed seeds. HiGHS proves its answer; the program must find the same number of stock pieces.
"""

import random

import numpy
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csc_matrix
from test_reckon import check_working, reckoned


def patterns(capacity, sizes, counts):
    """Every way of filling a piece to which no smaller item could be added by itself."""
    found = []

    def add(kind, room, chosen):
        if kind == len(sizes):
            if chosen:
                found.append(chosen)
            return
        for count in range(min(counts[kind], room // sizes[kind]), -1, -1):
            add(kind + 1, room - count * sizes[kind], chosen + [(kind, count)] if count else chosen)

    add(0, capacity, [])
    return found


def fewest(piece, kerf, items):
    """The fewest stock pieces, proven by HiGHS."""
    sizes, counts = [length + kerf for length in items], list(items.values())
    columns = patterns(piece + kerf, sizes, counts)
    rows = [kind for column in columns for kind, _ in column]
    places = [index for index, column in enumerate(columns) for _ in column]
    values = [count for column in columns for _, count in column]
    matrix = csc_matrix((values, (rows, places)), shape=(len(sizes), len(columns)))
    ones = numpy.ones(len(columns))
    solved = milp(ones, constraints=LinearConstraint(matrix, counts, numpy.inf), integrality=ones, bounds=Bounds(0, numpy.inf))
    assert solved.status == 0, solved.message
    return round(solved.fun)


def some_job(rng):
    """Few lengths, random or such that they fill pieces without waste."""
    piece, kerf = rng.choice([(1200, 0), (1300, 3), (1000, 5)])
    items = {}
    if rng.random() < 0.5:
        for _ in range(rng.randrange(3, 14)):
            items[rng.randrange(piece // 6, piece + 1)] = rng.randrange(1, 13)
    else:
        for _ in range(rng.randrange(2, 5)):
            parts = [rng.randrange(piece // 5, piece // 3) for _ in range(3)]
            last = piece - 3 * kerf - sum(parts)
            for length in parts + ([last] if last > 0 else []):
                items[length] = items.get(length, 0) + rng.randrange(2, 8)
    return piece, kerf, items


@pytest.mark.parametrize("seed", range(60))
def test_the_cut_list_takes_as_few_pieces_as_a_mixed_integer_solver_proves(tablet, seed):
    piece, kerf, items = some_job(random.Random(500 + seed))
    runs = [{"run": str(length), "width": "wide", "clear_mm": length, "count": count} for length, count in items.items()]
    given = {"piece_mm": piece, "least_piece_mm": 0, "shift_mm": 0, "kerf_mm": kerf, "runs": runs}
    result = reckoned(tablet, "infill-cuts", given)
    check_working(result)
    (stock,) = result["stock"]
    least = fewest(piece, kerf, items)
    assert stock["stock_pieces"] == stock["lower_bound"] == least
    assert stock["proven_least"] is True
    cut = {}
    for one in stock["cut_list"]:
        assert sum(one["cuts_mm"]) + kerf * (len(one["cuts_mm"]) - 1) <= piece
        assert one["offcut_mm"] == max(0, piece - sum(one["cuts_mm"]) - kerf * len(one["cuts_mm"]))
        for length in one["cuts_mm"]:
            cut[length] = cut.get(length, 0) + one["times"]
    assert cut == items
    assert stock["waste_mm"] == least * piece - sum(length * count for length, count in items.items())


@pytest.mark.parametrize("seed", range(20))
def test_run_ends_agree_with_the_rule_written_anew(tablet, seed):
    rng = random.Random(600 + seed)
    piece, least, shift = 1300, rng.randrange(50, 400), rng.randrange(0, 600)
    runs = [{"run": str(i), "width": rng.choice(["wide", "narrow"]), "clear_mm": rng.randrange(100, 6000), "count": rng.randrange(1, 9)} for i in range(15)]
    result = reckoned(tablet, "infill-cuts", {"piece_mm": piece, "least_piece_mm": least, "shift_mm": shift, "kerf_mm": 3, "runs": runs})
    for run, found in zip(runs, result["runs"], strict=True):
        whole, rest = divmod(run["clear_mm"], piece)
        if rest == 0:
            expected = [piece] * whole
        elif rest >= least:
            expected = [piece] * whole + [rest]
        elif whole and piece - shift >= least and rest + shift >= least:
            expected = [piece] * (whole - 1) + [piece - shift, rest + shift]
        else:
            assert found["verdict"] == "nonconforming" and found["reason"]
            continue
        assert (found["verdict"], found["pieces_mm"]) == ("conforming", expected)
        assert sum(found["pieces_mm"]) == run["clear_mm"]


@pytest.mark.parametrize("seed", range(20))
def test_set_out_agrees_with_plain_arithmetic(tablet, seed):
    rng = random.Random(700 + seed)
    beam, wide, narrow, start, end = 110, 500, 320, rng.randrange(50, 200), rng.randrange(50, 200)
    widths = {"wide": wide, "narrow": narrow, "beam": 0}
    gaps = [rng.choice(["wide", "wide", "narrow", "beam"]) for _ in range(rng.randrange(3, 20))]
    gaps[rng.randrange(len(gaps))] = "make-up"
    sequence = ["beam"]
    for gap in gaps:
        sequence += [] if gap == "beam" else [gap]
        sequence.append("beam")
    fixed = start + end + beam * (len(gaps) + 1) + sum(widths.get(gap, 0) for gap in gaps)
    design, built = fixed + rng.randrange(60, 320), fixed + rng.randrange(0, 400)
    given = {
        "design_clear_width_mm": design, "clear_width_mm": built, "edge_start_mm": start, "edge_end_mm": end, "beam_width_mm": beam,
        "infill_widths_mm": {"wide": wide, "narrow": narrow}, "sequence": sequence, "spacing_tolerance_mm": 5, "smallest_make_up_mm": 60,
    }
    result = reckoned(tablet, "bay-fit", given)
    check_working(result)
    assert (result["design_make_up_mm"], result["as_built_make_up_mm"]) == (design - fixed, built - fixed)
    assert result["verdict"] == ("conforming" if 60 <= built - fixed < narrow else "nonconforming")
    place, expected = start, []
    for gap in gaps + ["beam"]:
        expected.append(place)
        place += beam + (built - fixed if gap == "make-up" else widths[gap])
    assert [one["set_out_mm"] for one in result["beams"]] == expected
    count = sum(gap in ("wide", "narrow") for gap in gaps)
    offered = {one["wide"]: one["make_up_mm"] for one in result["arrangements"]}
    taken = sum(widths.get(gap, 0) for gap in gaps)
    left = {w: built - fixed + taken - w * wide - (count - w) * narrow for w in range(count + 1)}
    assert offered == {w: gap for w, gap in left.items() if 60 <= gap < narrow}
