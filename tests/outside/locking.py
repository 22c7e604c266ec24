"""Which row holds which loops of a warp, tried by pulling: each small winding against what the program says locks its ends.

locking.py PROGRAM. Prints each check, and `N passed, N failed` last. Knows of the program only the order of the nails that
`reckon --json --show way` gives. Common practice, no source: a loop that no crossing passes through slides out of the row.
"""
import itertools
import json
import subprocess

from checks import program, run

SEED = 20_261_127


def reckon(program, nails, unit, more):
    line = [program, "reckon", "--span", "20 in", "--width", f"{(nails - 1) * 2} in", "--nails", str(nails), "--unit", str(unit)]
    told = subprocess.run([*line, *more, "--json", "--show", "way"], capture_output=True, text=True, timeout=60)
    if told.returncode == 2 and "are left for the warp" in told.stderr:
        return None
    assert told.returncode == 0, f"{line} {more}: {told.stderr}"
    return json.loads(told.stdout)


def loops_of(order, far, doubled):
    """The strands as the strip lays them, and for each loop of one end its nail and the strands of its legs, from the left."""
    each = 2 if doubled else 1
    legs = {}
    for i, pair in enumerate(zip(order, order[1:])):
        for nail in pair:
            legs.setdefault(nail, []).extend(range(i * each, (i + 1) * each))
    ends = (order[0], order[-1])
    end = "far" if far else "near"
    return [(int(nail.split()[1]), legs[nail]) for nail in legs if nail.startswith(end) and nail not in ends]


def crossings(strands, size, first):
    """A row as a graph: between each two units the two weft strands cross, one thread going from front to back and the other from back
    to front. Strands of the warp with no crossing between them lie in one tunnel of the weft."""
    tunnels, begin = [], 0
    while begin < strands:
        end = min(strands, begin + (first if not tunnels else size))
        tunnels.append(set(range(begin, end)))
        begin = end
    joined = {strand: set() for strand in range(strands)}
    for tunnel in tunnels:
        for a, b in itertools.combinations(tunnel, 2):
            joined[a].add(b)
            joined[b].add(a)
    return joined, len(tunnels)


def slides_out(joined, legs):
    """Pulls a loop off its nail: it comes out if one can go from a leg to the other without meeting a crossing. Of strands wound double
    the inner loop is pulled, whose legs lie next to each other; it isn't held by what the outer one goes round."""
    inner = legs[len(legs) // 2 - 1 : len(legs) // 2 + 1]
    reached, waiting = set(), [inner[0]]
    while waiting:
        strand = waiting.pop()
        if strand not in reached:
            reached.add(strand)
            waiting.extend(joined[strand])
    return inner[1] in reached


def tried(order, far, size, doubled):
    """Of all rows that begin with a whole unit or less, the one that holds most: what it lacks of a whole unit, what slides out, and how
    often it crosses."""
    strands = (len(order) - 1) * (2 if doubled else 1)
    found = []
    for lacks in range(size):
        joined, units = crossings(strands, size, size - lacks)
        out = [nail for nail, legs in loops_of(order, far, doubled) if slides_out(joined, legs)]
        found.append((len(out), lacks, sorted(out), units))
    _, lacks, out, units = min(found)
    return {"shift": lacks, "open": out, "units": units}


def compare(program, nails, unit, more, doubled=False):
    told = reckon(program, nails, unit, more)
    if told is None:
        return 0
    for far in (False, True):
        end = "far" if far else "near"
        says, wanted = told["warp"]["locking"][end], tried(told["way"]["nails"], far, unit, doubled)
        assert says == wanted, f"{nails} nails, units of {unit}, {more}, {end} end: {says} instead of {wanted}"
    return 1


def small(program):
    """Two to five nails an end, units of one to three, with up to two nails left out, plain and double."""
    count = 0
    for nails, unit, doubled in itertools.product(range(2, 6), range(1, 4), (False, True)):
        # No frame has fewer than three nails: of two, a third is left out of each row.
        without = [f"{end} {i}" for end in ("near", "far") for i in range(nails + 1, 4)]
        every = [f"{end} {i}" for end in ("near", "far") for i in range(1, nails + 1)]
        for few in itertools.chain.from_iterable(itertools.combinations(every, left) for left in range(3)):
            out = [*few, *without]
            more = ["--leave-out", ", ".join(out)] if out else []
            count += compare(program, max(nails, 3), unit, more + ["--doubled"] * doubled, doubled)
    return f"{count} windings"


def set_off(program):
    """Rows of unequal numbers, set off by half a pitch to either side and more."""
    count = 0
    for nails, far, unit in itertools.product(range(3, 6), range(3, 6), range(1, 4)):
        for by in ("-2 in", "-1 in", "0 in", "1 in", "2 in"):
            count += compare(program, nails, unit, ["--far-nails", str(far), "--set-off", by])
    return f"{count} windings"


def middle(program):
    """Rugs narrower than their frame, and over every second nail."""
    count = 0
    for nails, unit, width in itertools.product(range(4, 10), range(1, 7), range(4, 10, 2)):
        if width <= (nails - 1) * 2:
            count += compare(program, nails, unit, ["--rug-width", f"{width} in", "--strip", "1/2 in"])
        count += compare(program, nails, unit, ["--every", "2", "--strip", "1/2 in"])
    return f"{count} windings"


def by_hand(program):
    """Three nails an end: 12|34|5 holds the near end and not the far, 1|23|45 the far and not the near."""
    told = reckon(program, 3, 2, [])
    locking = told["warp"]["locking"]
    assert locking == {"near": {"shift": 0, "open": [], "units": 3}, "far": {"shift": 1, "open": [], "units": 3}}, locking
    return told["way"]["locking"][0]


def main(program):
    return run(
        SEED,
        [
            ("three nails by hand", lambda _: by_hand(program)),
            ("all small windings", lambda _: small(program)),
            ("rows set off and unequal", lambda _: set_off(program)),
            ("the middle of a frame, every second nail", lambda _: middle(program)),
        ],
    )


if __name__ == "__main__":
    raise SystemExit(main(program("locking.py PROGRAM")))
