"""Compares `solve timetable` with CP-SAT on random terms, and checks every answer by hand.

timetable.py PROGRAM: prints each check, and `N passed, N failed` last.
"""
import time

from checks import answers, program, refused, run
from ortools.sat.python import cp_model

SEED = 6_100_024


def main(program):
    return run(SEED, [
        ("100 terms of 24 weavers, 14 frames, 10 meetings", lambda chance: terms(program, chance)),
        ("crowded terms", lambda chance: crowded(program, chance)),
        ("input that can't be used", lambda chance: refusals(program)),
    ])


def random_term(chance, weavers=24, frames=14, meetings=10, longest=6):
    names = [f"f{n}" for n in range(frames)]
    # Three sizes of frame; some rugs also go on the larger.
    sizes = [names[: frames // 2], names[frames // 2 : frames - 3], names[frames - 3 :]]
    rugs = []
    for number in range(weavers):
        size = chance.choices([0, 1, 2], [5, 3, 2])[0]
        fits = list(sizes[size]) + (list(sizes[size + 1]) if size < 2 and chance.random() < 0.3 else [])
        needed = chance.randint(2, longest)
        earliest = chance.randint(1, max(1, meetings - needed - 2))
        latest = chance.randint(min(meetings, earliest + needed - 1), meetings)
        rugs.append({
            "id": number, "fits": fits, "meetings": needed, "earliest": earliest, "latest": latest,
            "priority": chance.randint(1, 5),
        })
    return {"meetings": meetings, "frames": [{"id": name} for name in names], "rugs": rugs}


def holds(asked, answer):
    """The rules are kept, and the score is what is said."""
    rugs = {rug["id"]: rug for rug in asked["rugs"]}
    seen, priority, last = set(), 0, 0
    for one in answer["placed"]:
        rug = rugs[one["rug"]]
        assert one["frame"] in rug["fits"] and one["to"] - one["from"] + 1 == rug["meetings"], one
        assert rug["earliest"] <= one["from"] and one["to"] <= min(rug["latest"], asked["meetings"]), one
        for meeting in range(one["from"], one["to"] + 1):
            assert (one["frame"], meeting) not in seen, f"{one}: the frame is taken"
            seen.add((one["frame"], meeting))
        priority += rug["priority"]
        last += one["to"]
    placed = [one["rug"] for one in answer["placed"]]
    assert len(set(placed)) == len(placed) and set(placed) | set(answer["unplaced"]) == set(rugs)
    assert answer["score"] == [priority, last] and answer["bound"] >= priority, answer


def reference(asked):
    """The greatest sum of priorities, and for it the least sum of last meetings, by CP-SAT."""
    model = cp_model.CpModel()
    places, cover = {}, {}
    for n, rug in enumerate(asked["rugs"]):
        for frame in rug["fits"]:
            for start in range(rug["earliest"], min(rug["latest"], asked["meetings"]) - rug["meetings"] + 2):
                var = model.new_bool_var("")
                places[n, frame, start] = var
                for meeting in range(start, start + rug["meetings"]):
                    cover.setdefault((frame, meeting), []).append(var)
    for n in range(len(asked["rugs"])):
        model.add_at_most_one(var for (rug, _, _), var in places.items() if rug == n)
    for taken in cover.values():
        model.add_at_most_one(taken)
    priority = sum(asked["rugs"][n]["priority"] * var for (n, _, _), var in places.items())
    last = sum((start + asked["rugs"][n]["meetings"] - 1) * var for (n, _, start), var in places.items())
    model.maximize(1000 * priority - last)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.max_time_in_seconds = 30
    assert solver.solve(model) == cp_model.OPTIMAL, "CP-SAT didn't finish"
    return sum(asked["rugs"][n]["priority"] for (n, _, _), var in places.items() if solver.value(var)), sum(
        start + asked["rugs"][n]["meetings"] - 1 for (n, _, start), var in places.items() if solver.value(var)
    )


def compare(program, asked):
    began = time.monotonic()
    (answer,) = answers(program, "timetable", asked)
    seconds = time.monotonic() - began
    holds(asked, answer)
    priority, last = reference(asked)
    assert answer["bound"] >= priority, f"the bound {answer['bound']} is under the optimum {priority}"
    return answer, priority, last, seconds


def told(program, problems):
    best, soonest, worst, slowest = 0, 0, 1.0, 0.0
    for asked in problems:
        answer, priority, last, seconds = compare(program, asked)
        best += answer["score"][0] == priority
        soonest += answer["score"] == [priority, last]
        worst = min(worst, answer["score"][0] / max(priority, 1))
        slowest = max(slowest, seconds)
    return best, soonest, worst, slowest


def terms(program, chance):
    best, soonest, worst, slowest = told(program, [random_term(chance) for _ in range(100)])
    words = (
        f"the optimum in {best} of 100 (95 wanted), also soonest in {soonest}, the worst at {worst:.1%} of it (98 % "
        f"allowed), slowest {slowest:.2f} s (1 s is meant, on two cores that do nothing else)"
    )
    assert best >= 95 and worst >= 0.98 and slowest <= 3, words
    return words


def crowded(program, chance):
    """Twice as many weavers as there is room for."""
    problems = [random_term(chance, weavers=40, frames=8, meetings=8, longest=5) for _ in range(10)]
    best, soonest, worst, slowest = told(program, problems)
    words = f"the optimum in {best} of 10, also soonest in {soonest}, worst {worst:.1%}, slowest {slowest:.2f} s"
    assert worst >= 0.98 and slowest <= 6, words
    return words


def refusals(program):
    rug = {"id": 1, "fits": ["a"], "meetings": 1, "earliest": 1, "latest": 2, "priority": 1}
    right = {"meetings": 2, "frames": [{"id": "a"}], "rugs": [rug]}
    wrong = [
        {"frames": [], "rugs": []},
        {**right, "rugs": [{**rug, "fits": ["b"]}]},
        {**right, "rugs": [{**rug, "meetings": 0}]},
        {**right, "rugs": [{**rug, "earliest": 0}]},
        {**right, "rugs": [{**rug, "priority": -1}]},
        {**right, "rugs": [{**rug, "colour": "red"}]},
        {**right, "rugs": [rug, rug]},
        {**right, "frames": [{"id": "a"}, {"id": "a"}]},
        {**right, "meetings": 4_294_967_295},
        [],
    ]
    return refused(program, "timetable", right, wrong)


if __name__ == "__main__":
    raise SystemExit(main(program(__doc__)))
