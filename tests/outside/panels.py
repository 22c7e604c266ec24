"""Compares `solve panels` with CP-SAT of OR-Tools on random sizes: fewest panels, nearest size, least seam.

panels.py PROGRAM: prints each check, and `N passed, N failed` last. The reference places rectangles anywhere, so it knows
nothing of straight seams; up to four panels every layout has one that runs right across, so both must agree. With five and
six there are pinwheels too: those are held against every way to fill a rectangle, and that there are no others is tried by
making every layout of so many rectangles.
"""
import json

from checks import program, refused, run, solve
from ortools.sat.python import cp_model

SEED = 36_072
JOBS = 80
MOST = 4
PINWHEELS = 30
MOST_TURNED = 6


def main(program):
    checks = [
        ("full sizes, both ways round", lambda chance: full_sizes(program, chance)),
        ("four panels round a fifth", lambda chance: pinwheels(program, chance)),
        ("what layouts there are", lambda chance: layouts()),
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


def pinwheels(program, chance):
    turned = 0
    for number in range(PINWHEELS):
        # Parts of a pinwheel: A reaches over D and the middle, B down beside it, C back under it, D up.
        wide = [chance.randint(11, 20) * 10 for _ in range(3)]
        long = [chance.randint(11, 20) * 10 for _ in range(3)]
        parts = [
            (wide[0] + wide[1], long[0]),
            (wide[2], long[0] + long[1]),
            (wide[1] + wide[2], long[2]),
            (wide[0], long[1] + long[2]),
            (wide[1], long[1]),
        ]
        sizes = sorted(set(parts))
        # A part more beside it half of the time.
        more = chance.choice([0, chance.randint(11, 20) * 10])
        if more:
            sizes.append((more, sum(long)))
        asked = {
            "wanted": {"width_mm": sum(wide) + more, "length_mm": sum(long)},
            "sizes": [{"id": str(i), "width_mm": w, "length_mm": l} for i, (w, l) in enumerate(sizes)],
            "tolerance_mm": 0,
            "ease_mm": 0,
            "most_panels": MOST_TURNED,
        }
        told = solve(program, "panels", asked)
        assert told.returncode == 0, f"{told.stderr}: {asked}"
        answer = json.loads(told.stdout)
        covers(sizes, answer)
        found = (len(answer["panels"]), answer["off_mm"], answer["seam_mm"])
        seams = filled(sizes, sum(wide) + more, sum(long), MOST_TURNED)
        reference = (min(seams), 0, seams[min(seams)])
        assert found == reference, f"job {number}: {found} instead of {reference}: {asked}"
        assert answer["proven"] and answer["proven_of_all"], f"job {number}: not proven"
        corners = [(p["left_mm"], p["top_mm"], p["width_mm"], p["length_mm"]) for p in answer["panels"]]
        turned += not made([(x, y, x + w, y + l) for x, y, w, l in corners], pinwheel=False)
    assert turned > PINWHEELS // 2, f"only {turned} are pinwheels: the jobs prove little"
    return f"{PINWHEELS} jobs agree, {turned} of them have no seam straight across"


def filled(sizes, width, length, most):
    """The least seam of each number of panels that fill a rectangle just so: every panel is tried in the upmost free corner."""
    ways = sorted({side for w, l in sizes for side in ((w, l), (l, w))})
    least = {}

    def rest(heights, used, edges):
        # Heights of what is filled, from left to right: where each begins, and how far down it goes.
        at = min(range(len(heights) - 1), key=lambda n: heights[n][1])
        x, y = heights[at]
        if y == length:
            seam = edges - width - length
            least[used] = min(seam, least.get(used, seam))
            return
        if used == most:
            return
        end = heights[at + 1][0]
        for w, l in ways:
            if x + w > end or y + l > length:
                continue
            spots = [*heights[:at], (x, y + l), *([(x + w, y)] if x + w < end else []), *heights[at + 1 :]]
            even = [spot for n, spot in enumerate(spots) if n == 0 or n == len(spots) - 1 or spot[1] != spots[n - 1][1]]
            rest(even, used + 1, edges + w + l)

    rest([(0, 0), (width, length + 1)], 0, 0)
    return least


def tilings(wide, long, count):
    """Every way to part a grid of cells into so many rectangles, each of whose lines is a side of one of them."""
    taken = [[False] * wide for _ in range(long)]
    placed = []

    def mark(x, y, w, h, state):
        for row in range(y, y + h):
            for column in range(x, x + w):
                taken[row][column] = state

    def rest():
        free = next(((x, y) for y in range(long) for x in range(wide) if not taken[y][x]), None)
        if free is None:
            lines = {spot[0] for spot in placed}, {spot[1] for spot in placed}
            if len(placed) == count and (len(lines[0]), len(lines[1])) == (wide, long):
                yield list(placed)
            return
        if len(placed) == count:
            return
        x, y = free
        w = 0
        while x + w < wide and not taken[y][x + w]:
            w += 1
            for h in range(1, long - y + 1):
                mark(x, y, w, h, True)
                placed.append((x, y, x + w, y + h))
                yield from rest()
                placed.pop()
                mark(x, y, w, h, False)

    yield from rest()


def made(spots, pinwheel=True):
    """Whether these rectangles are parted by straight lines, and by pinwheels where those count, part by part."""
    if len(spots) == 1:
        return True
    for low, high in ((0, 2), (1, 3)):
        for line in {spot[low] for spot in spots}:
            one, other = [s for s in spots if s[high] <= line], [s for s in spots if s[low] >= line]
            if one and other and len(one) + len(other) == len(spots):
                return made(one, pinwheel) and made(other, pinwheel)
    if not pinwheel:
        return False
    xs, ys = sorted({spot[0] for spot in spots}), sorted({spot[1] for spot in spots})
    end = max(spot[2] for spot in spots)
    mirrored = [(end - right, top, end - left, bottom) for left, top, right, bottom in spots]
    for seen, lines in ((spots, xs), (mirrored, sorted(end - spot[2] for spot in spots))):
        for x1 in lines:
            for x2 in (x for x in lines if x > x1):
                for y1 in ys:
                    for y2 in (y for y in ys if y > y1):
                        if parts := five(seen, x1, x2, y1, y2):
                            return all(made(part) for part in parts)
    return False


def five(spots, x1, x2, y1, y2):
    """The parts of the pinwheel that these lines make, or None."""
    inside = [
        lambda l, t, r, b: r <= x2 and b <= y1,
        lambda l, t, r, b: l >= x2 and b <= y2,
        lambda l, t, r, b: l >= x1 and t >= y2,
        lambda l, t, r, b: r <= x1 and t >= y1,
        lambda l, t, r, b: l >= x1 and r <= x2 and t >= y1 and b <= y2,
    ]
    parts = [[spot for spot in spots if fits(*spot)] for fits in inside]
    return parts if all(parts) and sum(map(len, parts)) == len(spots) else None


def layouts():
    """Up to six rectangles are cut edge to edge or pinwheels, part by part; seven are the first that needn't be."""
    told = []
    for count in range(1, MOST_TURNED + 2):
        grids = [(wide, long) for wide in range(1, count + 1) for long in range(1, count + 2 - wide)]
        every = [spots for wide, long in grids for spots in tilings(wide, long, count)]
        others = sum(not made(spots) for spots in every)
        assert (others == 0) == (count <= MOST_TURNED), f"{others} others of {count}"
        told.append(f"{count}: {len(every)}")
    return f"{', '.join(told)}; of seven {others} are neither"


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
