"""Simulated rugs and sheets against what the program says is enough nine times in ten, and its take-up against SciPy's geometry.

coverage.py PROGRAM. Prints each check, and `N passed, N failed` last. The draws are NumPy's, and share nothing with the program but
what it states of weavers and cloth.
"""
import math

import numpy as np
from checks import answers, near, program, refused, run
from scipy import constants, special, stats

SEED = 20_261_127
RUGS = 5000
LENGTH = 32.0  # in, of the usual small rug
DECILE = stats.norm.ppf(0.9)
SMALL = {"span": "33 in", "width": "18 in", "nails": 33}


def main(program):
    return run(
        SEED,
        [
            ("take after a sample is enough for 88 to 94 of 100, in each class of weavers", lambda c: samples(program, c)),
            ("a longer sample leaves less doubt, a first rug more", lambda _: narrowing(program)),
            ("cloth weighed out with its hems is enough for 88 to 94 of 100", lambda c: gross(program, c)),
            ("take-up between a flat sine and a helix, and by the pitch", lambda _: take_up(program)),
            ("a warp without room is refused", lambda _: room(program)),
        ],
    )


# Rugs made before, inches of the sample, how much closer the rest is beaten, and how far it differs besides (as a standard deviation).
CLASSES = {
    "the rest differs by 8 %": (3, 4, 1.0, 0.08),
    "a first rug, the rest differs by 8 %": (0, 4, 1.0, 0.08),
    "a first rug, beaten 6 % closer later": (0, 4, 1.06, 0.04 / DECILE),
    "a third of the rug counted": (3, 11, 1.0, 0.08),
}


def samples(program, chance):
    draw = np.random.default_rng(chance.randrange(2**32))
    told = []
    for what, (before, inches, closer, differs) in CLASSES.items():
        asked, needed = simulated(draw, before, inches, closer, differs)
        # A thousand at a time, for builds that take their time.
        lots = [asked[first : first + 1000] for first in range(0, RUGS, 1000)]
        plans = [plan for lot in lots for plan in answers(program, "rugs", {"rugs": lot})]
        enough = [plan["cloth"]["weft_g"]["take"] >= grams for plan, grams in zip(plans, needed, strict=True)]
        share = 100 * np.mean(enough)
        told.append(f"{what}: {share:.1f}")
        assert 88 <= share <= 94, told[-1]
    return "; ".join(told)


def simulated(draw, before, inches, closer, differs):
    """Rugs with the first inches counted and weighed: tape to a sixteenth, half a row, the scale to 2 g, and rows that weigh 4 % more
    or less than the rest's, all by a decile. And what the whole rug needs."""
    asked, needed = [], []
    while len(asked) < RUGS:
        here = 4 * math.exp(draw.normal(0, 0.17))
        row = 6 * math.exp(draw.normal(0, 0.15))
        later = here * closer * math.exp(draw.normal(0, differs))
        off = lambda decile: draw.normal(0, decile / DECILE)
        rows = here * (inches + off(1 / 16))
        counted = max(round(rows + off(0.5)), 1)
        grams = rows * row + off(2)
        asked.append({**SMALL, "rugs-before": before, "sample": f"{inches} in, {counted} rows, {grams:.2f} g"})
        needed.append((here * inches + later * (LENGTH - inches) * math.exp(off(0.04))) * row)
    return asked, needed


def narrowing(program):
    ask = lambda before, inches: {**SMALL, "rugs-before": before, "sample": f"{inches} in, {4 * inches} rows, {24 * inches} g"}
    asked = [ask(3, 4), ask(3, 11), ask(3, 22), ask(0, 4)]
    wide = [plan["cloth"]["weft_g"]["take"] / plan["cloth"]["weft_g"]["expected"] for plan in answers(program, "rugs", {"rugs": asked})]
    assert wide[3] > wide[0] > wide[1] > wide[2], wide
    # 8 % by one standard deviation, on the seven eighths that no sample speaks for.
    assert math.log(wide[0]) > DECILE * 0.08 * 28 / 32, wide
    return ", ".join(f"{one:.3f}" for one in wide)


def gross(program, chance):
    """Sheets of unknown cloth, and full ones with hems of 1 in or 1 and 4 in, taken by the share that is counted on."""
    draw = np.random.default_rng(chance.randrange(2**32))
    sheet = {"mass_g": 680, "sheets": 1, "length_mm": 96 * 25.4, "width_mm": 81 * 25.4}
    asked = [sheet, {**sheet, "hem_mm": 25.4}, {**sheet, "hem_mm": 25.4, "top_hem_mm": 101.6}]
    told = [one["usable"] for one in answers(program, "areal", {"bundles": asked})]
    # By hand: 62 strips of 79 in and 1½ in wide of one whose cloth is 98½ in long; with a wide hem 60 of 101½ in.
    near(told[1]["share"], 62 * 79 * 1.5 / (81 * 98.5), 0.01, "a sheet with hems")
    near(told[2]["share"], 60 * 79 * 1.5 / (81 * 101.5), 0.01, "a sheet with a wide hem")
    words = []
    for usable in told:
        for doubt in (0.08, 0.15, 0.2):
            need = np.exp(draw.normal(0, doubt, 40_000))
            z = draw.normal(0, 1, need.size)
            end = np.where(z < 0, usable["low"], usable["high"])
            share = np.minimum(usable["share"] * (end / usable["share"]) ** (np.abs(z) / DECILE), 1)
            take = math.exp(DECILE * doubt) / usable["counted"]
            enough = 100 * np.mean(take * share >= need)
            assert 88 <= enough <= 94, f"{usable}, doubt {doubt}: {enough:.1f}"
            words.append(f"{enough:.1f}")
    return ", ".join(words)


def take_up(program):
    """A flat sine's length is an elliptic integral; the helix is a right triangle unrolled."""
    nails = list(range(7, 74))
    plans = answers(program, "rugs", {"rugs": [{**SMALL, "nails": n} for n in nails]})
    helix, sine = [], []
    for n, plan in zip(nails, plans, strict=True):
        pitch, across = 18 / plan["warp"]["units"], 2 * plan["warp"]["strip_thickness_mm"] / (constants.inch * 1000)
        slope = math.pi * across / 2 / pitch
        helix.append(math.hypot(1, slope) - 1)
        # The mean of √(1 + slope² cos²) over half a wave.
        sine.append(2 / math.pi * math.sqrt(1 + slope**2) * special.ellipe(slope**2 / (1 + slope**2)) - 1)
        assert sine[-1] <= plan["weft"]["take_up"] <= helix[-1], f"{n} nails: {sine[-1]} {plan['weft']['take_up']} {helix[-1]}"
    found = [plan["weft"]["take_up"] for plan in plans]
    usual = nails.index(33)
    near(found[usual], 0.28, 1e-9, "the usual pitch")
    for one, by_helix in zip(found, helix, strict=True):
        near(one / 0.28, by_helix / helix[usual], 1e-6, "as the helix goes")
    near(helix[-1], 1.04, 0.01, "the helix at a quarter of an inch")
    return f"from {found[0]:.3f} at 7 nails to {found[-1]:.2f} at 73"


def room(program):
    jammed = [{**SMALL, "nails": 110}, {**SMALL, "nails": 73, "strip": "3 1/4 in"}, {**SMALL, "unit": 1, "strip": "6 in"}]
    said = refused(program, "rugs", {"rugs": [{**SMALL, "nails": 73}]}, [{"rugs": [one]} for one in jammed])
    [close, plain] = answers(program, "rugs", {"rugs": [{**SMALL, "nails": 73}, SMALL]})
    assert any("close together" in note for note in close["notices"]) and not plain["notices"], close["notices"]
    return said


raise SystemExit(main(program(__doc__)))
