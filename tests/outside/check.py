"""Compares the program with reference libraries and with models of our own that share no code with it.

check.py PROGRAM: the release build. Prints each check, and `N passed, N failed` last.
"""
import csv
import json
import random
import subprocess
import sys
from pathlib import Path

import numpy as np
from scipy import constants
from shapely import LineString

import colour

ROOT = Path(__file__).resolve().parent.parent.parent
INCH = constants.inch * 1000  # in mm: SciPy's own, from the international inch of 1959
FRAMES = 200
SEED = 20_261_007


def main(program):
    tally = {"passed": 0, "failed": 0}
    checks = [
        ("warp path against a taut string round polygons", lambda: warp_paths(program)),
        ("units of length against SciPy's constants", lambda: lengths(program)),
        ("cloth by weight against strip length, width and areal mass", lambda: weights(program)),
        ("CIEDE2000 vectors against colour-science", colour_differences),
    ]
    for name, check in checks:
        try:
            told = check()
        except Exception as error:  # a check that falls over has failed; the others still run
            tally["failed"] += 1
            print(f"FAIL  {name}: {type(error).__name__}: {error}")
        else:
            tally["passed"] += 1
            print(f"ok    {name}: {told}")
    print(f"{tally['passed']} passed, {tally['failed']} failed")
    return 1 if tally["failed"] else 0


def reckon(program, span, width, nails, *more):
    line = [program, "reckon", "--span", span, "--width", width, "--nails", str(nails), "--json", *more]
    return json.loads(subprocess.run(line, check=True, capture_output=True, text=True).stdout)


def near(found, wanted, relative, what):
    error = abs(found / wanted - 1)
    if error > relative:
        raise AssertionError(f"{what}: {found} instead of {wanted}, off by {error:.3%}")
    return error


def random_frames():
    chance = random.Random(SEED)
    left = FRAMES
    while left:
        nails = chance.randint(4, 120)
        width = round((nails - 1) * chance.uniform(0.25, 1.5), 3)
        if 4 <= width <= 144:
            left -= 1
            yield round(chance.uniform(10, 120), 3), width, nails


def warp_paths(program):
    """The strip as a string pulled taut round nails that are regular polygons, corner by corner: no formula of ours."""
    worst = 0
    for span, width, nails in random_frames():
        plan = reckon(program, f"{span} in", f"{width} in", nails)["warp"]
        pitch = width / (nails - 1)
        model = taut(span, pitch, nails, radius=(0.1 + 0.06) / 2) + 2 * 6
        worst = max(worst, near(plan["path_mm"], model * INCH, 0.002, f"{span} × {width} in, {nails} nails"))
        near(plan["rule_of_thumb_mm"], 2 * nails * span * INCH, 1e-9, "rule of thumb")
        if plan["strands"] != 2 * nails - 1:
            raise AssertionError(f"{plan['strands']} strands on {nails} nails")
    return f"{FRAMES} frames, worst difference {worst:.4%} (0.2 % allowed)"


CORNERS = 720


def taut(span, pitch, nails, radius):
    """Its length from where it leaves the first nail to where it meets the last. Turns clockwise round the far row and
    the other way round the near one, so that it crosses from side to side."""
    angles = np.arange(CORNERS) * 2 * np.pi / CORNERS
    nail = radius * np.column_stack([np.cos(angles), np.sin(angles)])
    centres = [np.array([(i // 2) * pitch, span * (i % 2)]) for i in range(2 * nails)]
    leave, meet = [], []
    for here, there, clockwise in zip(centres, centres[1:], [False, True] * nails):
        start, end = tangent(here, there, nail, clockwise)
        leave.append(start)
        meet.append(end)
    line = [centres[0] + nail[leave[0]]]
    for i in range(1, len(centres) - 1):
        step = -1 if i % 2 else 1  # the far row is turned clockwise
        corner = meet[i - 1]
        line.append(centres[i] + nail[corner])
        while corner != leave[i]:
            corner = (corner + step) % CORNERS
            line.append(centres[i] + nail[corner])
    line.append(centres[-1] + nail[meet[-1]])
    return LineString(line).length


def tangent(here, there, nail, clockwise):
    """The corners between which the strip runs free: all of `here` lies on one side of it, all of `there` on the other."""
    side = 1 if clockwise else -1
    start = end = 0
    for _ in range(50):
        along = (there + nail[end]) - (here + nail[start])
        left = np.array([-along[1], along[0]])
        found = int(np.argmax(side * nail @ left)), int(np.argmin(side * nail @ left))
        if found == (start, end):
            return found
        start, end = found
    raise AssertionError("no tangent was found")


def lengths(program):
    """The rule of thumb is 2 · nails · span, so it shows what the program takes each unit to be."""
    units = {
        "in": constants.inch, "ft": constants.foot, "yd": constants.yard,
        "mm": constants.milli, "cm": constants.centi, "m": 1.0,
    }
    for unit, metres in units.items():
        for size in ("1", "0.75", "1.125", "2.5", "3"):
            amount = float(size) if metres > 0.2 else round(float(size) / metres)
            plan = reckon(program, f"{amount} {unit}", "18 in", 33)
            near(plan["warp"]["rule_of_thumb_mm"], 66 * amount * metres * 1000, 1e-9, f"{amount} {unit}")
    return f"{', '.join(units)}"


def weights(program):
    """Mass of the weft = length × width × areal mass, for the kinds whose typical areal mass the design gives, g/m²."""
    typical = {"percale": 130, "sateen": 150, "flannel": 170, "poplin": 140, "denim": 330}
    worst = 0
    for kind, areal in typical.items():
        for strip in (0.75, 1.0, 1.5, 2.0):
            plan = reckon(program, "33 in", "18 in", 33, "--kind", kind, "--strip", f"{strip} in")
            square_metres = plan["weft"]["cut_mm"]["expected"] / 1000 * strip * constants.inch
            found = plan["cloth"]["weft_g"]["expected"]
            worst = max(worst, near(found, square_metres * areal, 0.01, f"{kind}, {strip} in"))
    return f"worst difference {worst:.2%} (1 % allowed)"


def colour_differences():
    """The vectors that the program's own test reads; Sharma, Wu, Dalal, Color Res. Appl. 30 (2005) 21–30, Table 1."""
    with open(ROOT / "tests/it/vectors/ciede2000.csv", newline="") as file:
        rows = [[float(cell) for cell in row] for row in csv.reader(file) if is_data(row)]
    if len(rows) != 34:
        raise AssertionError(f"{len(rows)} pairs instead of 34")
    worst = 0
    for row in rows:
        lab, wanted = np.array(row[-7:-1]), row[-1]
        found = colour.delta_E(lab[:3], lab[3:], method="CIE 2000")
        worst = max(worst, abs(found - wanted))
        if worst > 0.00005:
            raise AssertionError(f"{lab}: {found} instead of {wanted}")
    return f"{len(rows)} pairs, worst difference {worst:.6f}"


def is_data(row):
    return bool(row) and row[0].strip()[:1].isdigit()


sys.exit(main(sys.argv[1]))
