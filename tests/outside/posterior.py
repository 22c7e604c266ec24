"""Compares `solve pace` with SciPy on random classes and logs: posteriors of the learnt rows per inch and of the pace.

posterior.py PROGRAM: prints each check, and `N passed, N failed` last.
"""
import functools
import math

import numpy as np
from checks import answers, program, run
from scipy import integrate, stats

SEED = 20_261_125
CLASSES = 60
LOGS = 60
INCH = 25.4
DECILE = stats.norm.ppf(0.9)
SIZES = [(33, 18, 33), (44, 24, 43), (48, 36, 65)]
GSM = {"percale": (100, 130, 150), "flannel": (140, 170, 200), "denim": (200, 330, 400), "terry": (300, 450, 600)}
# Variances of the parts that rugs have in common, as the program's documentation states them: class, size, cloth, weaver.
HAND = (0.30, 0.10, 0.10, 0.30)
CLOTH = (0.15, 0.00, 0.25, 0.10)


def main(program):
    checks = [
        ("learnt rows per inch against a latent model", lambda chance: rows(program, chance)),
        ("pace, times and chances against SciPy's distributions", lambda chance: paces(program, chance)),
        ("a class 1.6 times slower than thought, after eight rugs", lambda chance: slower(program, chance)),
    ]
    return run(SEED, checks)


def near(found, wanted, tolerance, what):
    error = abs(found - wanted)
    if not error <= tolerance:
        raise AssertionError(f"{what}: {found} instead of {wanted}")
    return error


def random_rug(chance):
    span, width, nails = chance.choice(SIZES)
    return {
        "weaver": chance.choice("ABCDE"),
        "span_mm": span * INCH,
        "width_mm": width * INCH,
        "nails": nails,
        "kind": chance.choice(list(GSM)),
        "strip_mm": round(chance.uniform(0.75, 2) * INCH, 3),
    }


@functools.cache
def effect(down, up):
    """Mean and standard deviation of what a deviate does whose deciles are `down` and `up`, by numerical integration."""
    def at(z):
        return (up if z > 0 else -down) * z / DECILE
    halves = [(-np.inf, 0), (0, np.inf)]
    mean = sum(integrate.quad(lambda z: at(z) * stats.norm.pdf(z), *half)[0] for half in halves)
    square = sum(integrate.quad(lambda z: at(z) ** 2 * stats.norm.pdf(z), *half)[0] for half in halves)
    return mean, math.sqrt(square - mean * mean)


def figures(rug):
    """Rows per inch by the default, how far skewness shifts its logarithm, and its loadings on hand and cloth."""
    low, typical, high = GSM[rug["kind"]]
    plain = 4 * math.sqrt(1.5 * INCH * 130 / (rug["strip_mm"] * typical))
    hand_mean, hand = effect(math.log(3 / 4), math.log(5 / 4))
    cloth_mean, cloth = effect(-0.5 * math.log(low / typical), -0.5 * math.log(high / typical))
    return plain, hand_mean + cloth_mean, (hand, -cloth)


def latent(rugs):
    """The latent parts of all rugs as columns: each part's variance, and the row of each rug in them."""
    parts = {}
    rows = []
    for i, rug in enumerate(rugs):
        row = []
        for shares, nature in ((HAND, "hand"), (CLOTH, "cloth")):
            keys = ["class", (rug["span_mm"], rug["width_mm"]), rug["kind"], f"weaver {rug['weaver']}"]
            own = [(key, share) for key, share in zip(keys, shares) if share]
            own.append((i, 1 - sum(shares)))
            row.append([parts.setdefault((nature, str(key)), (len(parts), share))[0] for key, share in own])
        rows.append(row)
    variances = np.array([share for _, share in parts.values()])
    matrix = np.zeros((len(rugs), len(variances)))
    for i, rug in enumerate(rugs):
        for load, columns in zip(figures(rug)[2], rows[i]):
            matrix[i, columns] += load
    return variances, matrix


def rows(program, chance):
    worst = 0
    for _ in range(CLASSES):
        done = []
        for _ in range(chance.randint(1, 25)):
            rug = random_rug(chance)
            plain = figures(rug)[0]
            inches = round(chance.uniform(25, 46) * 8) / 8
            count = max(1, round(plain * inches * math.exp(chance.gauss(0, 0.2))))
            done.append(rug | {"rows": count, "woven_mm": inches * INCH})
        asked = random_rug(chance)
        told = answers(program, "pace", {"rug": asked, "finished": done})[0]["learnt"]
        if [figure["figure"] for figure in told] != ["rows"]:
            raise AssertionError(f"learnt {told}")
        told = told[0]
        variances, matrix = latent(done + [asked])
        seen, target = matrix[:-1], matrix[-1]
        off, noise = [], []
        for rug in done:
            plain, shift, _ = figures(rug)
            inches = rug["woven_mm"] / INCH
            off.append(math.log(rug["rows"] / inches / plain) - shift)
            noise.append((0.5 / rug["rows"]) ** 2 + (0.125 / inches) ** 2)
        # Precisions, where the program works with covariances.
        precision = np.diag(1 / variances) + seen.T @ np.diag(1 / np.array(noise)) @ seen
        mean = np.linalg.solve(precision, seen.T @ (np.array(off) / noise))
        sd = math.sqrt(target @ np.linalg.solve(precision, target))
        shift = figures(asked)[1]
        for z in (-DECILE, 0, DECILE):
            ours = math.log(told["ratio"]) + z * told["sd"]
            theirs = target @ mean + shift + z * sd
            worst = max(worst, near(ours, theirs, 2e-4, f"{len(done)} rugs, z {z:.2f}"))
        same = {
            "rugs": len(done),
            "size": sum(rug["span_mm"] == asked["span_mm"] for rug in done),
            "cloth": sum(rug["kind"] == asked["kind"] for rug in done),
            "weaver": sum(rug["weaver"] == asked["weaver"] for rug in done),
        }
        if any(told[key] != count for key, count in same.items()):
            raise AssertionError(f"evidence {told} instead of {same}")
    return f"{CLASSES} classes, worst difference of a decile's logarithm {worst:.1e}"


def paces(program, chance):
    worst = 0
    points, weights = np.polynomial.hermite_e.hermegauss(5)
    fine, fine_weights = np.polynomial.hermite_e.hermegauss(60)
    for _ in range(LOGS):
        rug = random_rug(chance)
        log, done = [], 0
        for _ in range(chance.randint(0, 5)):
            done += chance.randint(0, 14)
            log.append({"rows": done, "minutes": chance.randint(20, 180)})
            if chance.random() < 0.5 and done:
                log[-1]["woven_mm"] = round(done / chance.uniform(3.5, 4.5) * INCH, 1)
        rooms = [round(chance.uniform(10, 1500), 1) for _ in range(4)]
        [told] = answers(program, "pace", {"rug": rug, "log": log, "room_minutes": rooms})
        spell, prior, pace, left = (told[key] for key in ("spell_twists", "prior", "pace", "left"))
        shape = prior["shape"] + told["timed"]["twists"] / spell
        exposure = prior["exposure_minutes"] + told["timed"]["minutes"]
        near(pace["shape"], shape, 1e-9 * shape, "shape")
        near(pace["exposure_minutes"], exposure, 1e-9 * exposure, "exposure")
        for belief in (prior, pace):
            rate = stats.gamma(belief["shape"], scale=spell / belief["exposure_minutes"])
            for name, share in (("low", 0.1), ("median", 0.5), ("high", 0.9)):
                found, wanted = belief["twists_per_minute"][name], rate.ppf(share)
                worst = max(worst, near(found / wanted, 1, 1e-6, name))

        def within(minutes, z, w):
            spells = left["twists"] * np.maximum(1 + z * left["doubt"], 0.02) / spell
            return float(stats.betaprime(spells, shape, scale=exposure).cdf(minutes) @ w / w.sum())

        for room, said in zip(rooms, told["chances"]):
            worst = max(worst, near(said, within(room, points, weights), 1e-6, f"within {room} min"))
            near(said, within(room, fine, fine_weights), 0.03, f"five points or sixty, {room} min")
        for name, share in (("low", 0.1), ("expected", 0.5), ("take", 0.9)):
            near(within(left["minutes"][name], points, weights), share, 1e-5, name)
    return f"{LOGS} logs, worst difference {worst:.1e}"


SLOWER = 1.6
# How far weavers differ, one weaver's rugs, and clocks, as standard deviations of logarithms; reasoned, no source.
WEAVERS, THEIR_RUGS, CLOCK = 0.18, 0.12, 0.1


def slower(program, chance):
    """Every rug takes 1.6 times what is told of a class that has finished none, and weavers differ besides: with eight rugs learnt,
    what is told is enough for 85 of 100, for first rugs and for practised weavers."""
    draw = np.random.default_rng(chance.randrange(2**32))
    off = lambda sd: math.exp(draw.normal(0, sd))
    words = []
    for before in (0, 2, None):
        small = {"span_mm": 33 * INCH, "width_mm": 18 * INCH, "nails": 33}
        if before is not None:
            small["rugs_before"] = before
        prior = answers(program, "pace", {"rug": {"weaver": "A", **small}})[0]["left"]["minutes"]
        enough, rugs = 0, 0
        for _ in range(CLASSES):
            weavers = {name: prior["expected"] * SLOWER * off(WEAVERS) for name in "ABCD"}
            done = [
                {"weaver": name, **small, "rows": 128, "weave_minutes": weavers[name] * off(THEIR_RUGS) * off(CLOCK)}
                for name in "ABCDABCD"
            ]
            for name in "ABCD":
                told = answers(program, "pace", {"rug": {"weaver": name, **small}, "finished": done})[0]["left"]["minutes"]
                enough += weavers[name] * off(THEIR_RUGS) <= told["take"]
                rugs += 1
        share = 100 * enough / rugs
        assert share >= 85, f"{before} rugs before: {share:.1f}"
        words.append(f"{'practised' if before is None else before}: {share:.1f}")
    return "; ".join(words)


raise SystemExit(main(program(__doc__)))
