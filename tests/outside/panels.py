"""Compares `solve panels` with CP-SAT of OR-Tools on random sizes: fewest panels, nearest size, least seam.

panels.py PROGRAM: prints each check, and `N passed, N failed` last. The reference places rectangles anywhere, so it knows
nothing of straight seams; up to four panels every layout has one that runs right across, so both must agree.
"""
import json

from checks import program, refused, run, solve
from ortools.sat.python import cp_model

SEED = 36_072
JOBS = 80
MOST = 4


def main(program):
    checks = [
        ("full sizes, both ways round", lambda chance: full_sizes(program, chance)),
        ("input that can't be used", lambda chance: refusals(program)),
    ]
    return run(SEED, checks)


def best(sizes, width, length, tolerance, panels):
    """(off, seam) of the best rug of just so many panels anywhere in a rectangle, or None."""
    model = cp_model.CpModel()
    wide = model.new_int_var(max(1, width - tolerance), width + tolerance, "wide")
    long = model.new_int_var(max(1, length - tolerance), length + tolerance, "long")
    xs, ys, areas, edges = [], [], [], []
    ways = [(w, l) for w, l in sizes] + [(l, w) for w, l in sizes]
    for p in range(panels):
        chosen = [model.new_bool_var(f"{p},{way}") for way in range(len(ways))]
        model.add_exactly_one(chosen)
        x, y = (model.new_int_var(0, width + length + 2 * tolerance, f"{side}{p}") for side in "xy")
        w, l = (model.new_int_var(0, 10**4, f"{side}{p}") for side in "wl")
        model.add(w == sum(c * way[0] for c, way in zip(chosen, ways)))
        model.add(l == sum(c * way[1] for c, way in zip(chosen, ways)))
        right, bottom = model.new_int_var(0, 10**6, f"r{p}"), model.new_int_var(0, 10**6, f"b{p}")
        model.add(right == x + w)
        model.add(bottom == y + l)
        model.add(right <= wide)
        model.add(bottom <= long)
        xs.append(model.new_interval_var(x, w, right, f"ix{p}"))
        ys.append(model.new_interval_var(y, l, bottom, f"iy{p}"))
        areas.append(sum(c * way[0] * way[1] for c, way in zip(chosen, ways)))
        edges.append(w + l)
    model.add_no_overlap_2d(xs, ys)
    area = model.new_int_var(0, 10**9, "area")
    model.add_multiplication_equality(area, [wide, long])
    model.add(sum(areas) == area)
    offs = [model.new_int_var(0, tolerance, f"off{side}") for side in "xy"]
    model.add_abs_equality(offs[0], wide - width)
    model.add_abs_equality(offs[1], long - length)
    # Half of all edges, less the outer ones, are seams.
    seam = sum(edges) - wide - long
    model.minimize(sum(offs) * 100_000 + seam)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = 60
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    assert status == cp_model.OPTIMAL, "the reference ran out of time"
    return sum(solver.value(off) for off in offs), solver.value(seam)


def covers(sizes, answer):
    """The panels tile the rug, each of its frame's size."""
    spots = [(p["left_mm"], p["top_mm"], p["width_mm"], p["length_mm"]) for p in answer["panels"]]
    for i, (x, y, w, l) in enumerate(spots):
        assert x >= 0 and y >= 0 and x + w <= answer["width_mm"] and y + l <= answer["length_mm"], "outside"
        for a, b, c, d in spots[:i]:
            assert x + w <= a or a + c <= x or y + l <= b or b + d <= y, "panels overlap"
        panel = answer["panels"][i]
        assert sizes[int(panel["size"])] == ((l, w) if panel["turned"] else (w, l)), "not the frame's size"
    assert sum(w * l for _, _, w, l in spots) == answer["width_mm"] * answer["length_mm"], "holes"


def full_sizes(program, chance):
    fitted = 0
    for number in range(JOBS):
        sizes = [(chance.randint(8, 24) * 20, chance.randint(12, 40) * 20) for _ in range(chance.randint(1, 4))]
        # A wanted size that a few sides add up to, and a little off, so that many jobs fit.
        sides = [side for size in sizes for side in size]
        width, length = (
            sum(chance.choices(sides, k=chance.randint(1, 2))) + chance.choice([-20, 0, 0, 20]) for _ in range(2)
        )
        tolerance = chance.choice([0, 20, 60, 100])
        asked = {
            "wanted": {"width_mm": width, "length_mm": length},
            "sizes": [{"id": str(i), "width_mm": w, "length_mm": l} for i, (w, l) in enumerate(sizes)],
            "tolerance_mm": tolerance,
            "ease_mm": 0,
            "most_panels": MOST,
        }
        told = solve(program, "panels", asked)
        reference = next(
            ((n, *found) for n in range(1, MOST + 1) if (found := best(sizes, width, length, tolerance, n))), None
        )
        if told.returncode == 2:
            assert reference is None, f"job {number}: {told.stderr.strip()}, yet {reference} fits: {asked}"
            continue
        assert told.returncode == 0, told.stderr
        answer = json.loads(told.stdout)
        covers(sizes, answer)
        found = (len(answer["panels"]), answer["off_mm"], answer["seam_mm"])
        assert found == reference, f"job {number}: {found} instead of {reference}: {asked}"
        fitted += 1
    assert 0.2 * JOBS < fitted < JOBS, f"only {fitted} fit: the jobs prove little"
    return f"{JOBS} jobs agree, {fitted} of them fit"


def refusals(program):
    size = {"id": "a", "width_mm": 450, "length_mm": 800}
    right = {"wanted": {"width_mm": 900, "length_mm": 800}, "sizes": [size], "tolerance_mm": 0}
    wrong = [
        {**right, "sizes": []},
        {**right, "tolerance_mm": -1},
        {**right, "most_panels": 0},
        {**right, "wanted": {"width_mm": 0, "length_mm": 800}},
        {**right, "sizes": [{**size, "width_mm": "wide"}]},
        {**right, "colour": 3},
        [],
    ]
    return refused(program, "panels", right, wrong)


if __name__ == "__main__":
    raise SystemExit(main(program(__doc__)))
