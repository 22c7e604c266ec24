"""Compares `solve cutting` and `solve rods` with CP-SAT of OR-Tools on random jobs, and checks every plan by hand.

cutting.py PROGRAM: prints each check, and `N passed, N failed` last.
"""
import json
from collections import Counter

from checks import program, refused, run, solve
from ortools.sat.python import cp_model

SEED = 5_600_073
JOBS = 60
STOCK_INCHES = (36, 48, 72)


def main(program):
    checks = [
        ("one stock length", lambda chance: one_length(program, chance)),
        ("several stock lengths, limited", lambda chance: several_lengths(program, chance)),
        ("edge rods from bought bars", lambda chance: rods(program, chance)),
        ("input that can't be used", lambda chance: refusals(program)),
    ]
    return run(SEED, checks)


def micro(mm):
    return round(mm * 1000)


def least(stock, pieces, kerf, costs):
    """The least cost and the proven lower bound by CP-SAT, in whole micrometres; None where nothing is feasible."""
    widths = [micro(p["length_mm"]) + kerf for p in pieces]
    bars = []
    for s, cost in zip(stock, costs):
        count = min(s["count"], sum(p["count"] for p in pieces))
        bars += [(micro(s["length_mm"]) + kerf, cost)] * count
    model = cp_model.CpModel()
    used = [model.new_bool_var(f"u{b}") for b in range(len(bars))]
    cut = [[model.new_int_var(0, p["count"], f"x{b},{i}") for i, p in enumerate(pieces)] for b in range(len(bars))]
    for b, (room, _) in enumerate(bars):
        model.add(sum(w * x for w, x in zip(widths, cut[b])) <= room * used[b])
        if b and bars[b] == bars[b - 1]:
            model.add_implication(used[b], used[b - 1])
    for i, p in enumerate(pieces):
        model.add(sum(cut[b][i] for b in range(len(bars))) == p["count"])
    model.minimize(sum(cost * u for (_, cost), u in zip(bars, used)))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = 20
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return 0, float("inf")
    return solver.best_objective_bound, solver.objective_value


def holds(stock, pieces, kerf, bars):
    """Every piece is cut as often as wanted, no bar is overfull, none is used that isn't there."""
    wanted = Counter()
    for p in pieces:
        wanted[micro(p["length_mm"])] += p["count"]
    cut = Counter(micro(mm) for bar in bars for mm in bar["cuts_mm"])
    assert cut == +wanted, f"cut {cut} instead of {wanted}"
    room = {s["id"]: micro(s["length_mm"]) for s in stock}
    for bar in bars:
        taken = sum(map(micro, bar["cuts_mm"])) + kerf * (len(bar["cuts_mm"]) - 1)
        assert taken <= room[bar["stock"]], f"{bar} is overfull"
    for s in stock:
        taken = sum(bar["stock"] == s["id"] for bar in bars)
        assert taken <= s["count"], f"{taken} bars of {s}"


def random_pieces(chance, longest, kinds, most):
    sizes = [round(chance.uniform(0.08, 0.75) * longest, chance.choice([0, 1, 3])) for _ in range(kinds)]
    return [{"length_mm": mm, "count": chance.randint(1, most)} for mm in sizes]


def compare(program, chance, make):
    proven = short = 0
    for number in range(JOBS):
        stock, pieces, kerf_mm = make(chance)
        asked = {"stock": stock, "pieces": pieces, "kerf_mm": kerf_mm}
        told = solve(program, "cutting", asked)
        reference = least(stock, pieces, micro(kerf_mm), [1] * len(stock))
        if told.returncode == 2:
            assert reference is None, f"job {number}: {told.stderr.strip()}, yet it can be cut: {asked}"
            short += 1
            continue
        assert told.returncode == 0, f"job {number}: {told.stderr}"
        answer = json.loads(told.stdout)
        assert answer["used"] == len(answer["bars"]), f"job {number}: used isn't the bars"
        holds(stock, pieces, micro(kerf_mm), answer["bars"])
        low, high = reference
        used, bound = answer["used"], answer["bound"]
        assert bound <= high + 1e-6 and low <= used + 1e-6, f"job {number}: {bound}, {used} against {low}, {high}: {asked}"
        if used == bound:
            proven += 1
            assert used <= high + 1e-6, f"job {number}: {used} is said to be best, but {high} was found: {asked}"
    assert proven + short >= 0.95 * JOBS, f"only {proven} proven"
    return f"{JOBS} jobs agree, {proven} proven, {short} with too little stock"


def one_length(program, chance):
    def make(chance):
        longest = chance.choice([1000, 1828.8, 5600])
        pieces = random_pieces(chance, longest, chance.randint(1, 7), 4)
        return [{"id": "bar", "length_mm": longest, "count": 100}], pieces, chance.choice([0, 1.5, 3.175])

    return compare(program, chance, make)


def several_lengths(program, chance):
    def make(chance):
        lengths = chance.sample([600, 914.4, 1000, 1219.2, 1828.8], chance.randint(2, 3))
        stock = [{"id": i, "length_mm": mm, "count": chance.randint(1, 5)} for i, mm in enumerate(lengths)]
        return stock, random_pieces(chance, max(lengths), chance.randint(1, 5), 3), chance.choice([0, 2, 3.175])

    return compare(program, chance, make)


def rods(program, chance):
    for number in range(JOBS):
        frames = [{"span_mm": round(chance.uniform(250, 1700)), "count": chance.randint(1, 3)} for _ in range(3)]
        told = solve(program, "rods", {"rods": frames})
        assert told.returncode == 0, told.stderr
        answer = json.loads(told.stdout)
        # Two rods a frame, 1 1/2 in beyond each row of nails.
        pieces = [{"length_mm": f["span_mm"] + 76.2, "count": 2 * f["count"]} for f in frames]
        stock = [{"id": i * 25.4, "length_mm": i * 25.4, "count": 100} for i in STOCK_INCHES]
        bars = [
            {"stock": s["id"], "cuts_mm": bar["cuts_mm"]}
            for bar in answer["bars"]
            for s in stock
            if abs(s["id"] - bar["stock_mm"]) < 1e-6
            for _ in range(bar["count"])
        ]
        holds(stock, pieces, 0, bars)
        bought = sum(bar["stock"] for bar in bars)
        assert abs(bought - answer["bought_mm"]) < 1e-6
        low, high = least(stock, pieces, 0, STOCK_INCHES)
        used, bound = answer["bought_mm"] / 25.4, answer["bound_mm"] / 25.4
        assert bound <= high + 1e-6 and low <= used + 1e-6, f"job {number}: {bound}, {used} against {low}, {high}: {frames}"
        assert used > bound + 1e-6 or used <= high + 1e-6, f"job {number}: {used} is said to be best, not {high}"
    return f"{JOBS} purchases agree"


def refusals(program):
    bar = {"id": "a", "length_mm": 100, "count": 1}
    piece = {"length_mm": 10, "count": 1}
    wrong = [
        {"stock": [bar]},
        {"stock": [bar], "pieces": [{**piece, "count": -1}]},
        {"stock": [bar], "pieces": [{**piece, "count": 1.5}]},
        {"stock": [bar], "pieces": [{**piece, "length_mm": 0}]},
        {"stock": [bar], "pieces": [{**piece, "length_mm": "ten"}]},
        {"stock": [bar], "pieces": [{**piece, "length_mm": 100.001}]},
        {"stock": [bar], "pieces": [{**piece, "count": 11}]},
        {"stock": [bar], "pieces": [piece], "kerf_mm": -1},
        {"stock": [bar], "pieces": [piece], "saw": 1},
        [],
        "cut",
    ]
    return refused(program, "cutting", None, wrong)


if __name__ == "__main__":
    raise SystemExit(main(program(__doc__)))
