"""What the outside checks share: running a list of them, asking the program, comparing numbers."""
import json
import random
import subprocess
import sys
from collections import Counter


def run(seed, checks):
    """Runs (name, check) pairs, each with chance of its own, prints what each says, and answers the exit code."""
    tally = Counter()
    for name, check in checks:
        try:
            told = check(random.Random(f"{seed} {name}"))
        except Exception as error:  # a check that falls over has failed; the others still run
            tally["failed"] += 1
            print(f"FAIL  {name}: {type(error).__name__}: {error}")
        else:
            tally["passed"] += 1
            print(f"ok    {name}: {told}")
    print(f"{tally['passed']} passed, {tally['failed']} failed")
    return 1 if tally["failed"] else 0


def solve(program, what, asked):
    line = [program, "solve", what, "-"]
    return subprocess.run(line, input=json.dumps(asked), capture_output=True, text=True, timeout=60)


def answers(program, what, asked):
    """The lines of an answer that must be given."""
    told = solve(program, what, asked)
    assert told.returncode == 0, told.stderr
    return [json.loads(line) for line in told.stdout.splitlines()]


def refused(program, what, right, wrong):
    """Input that can't be used is refused with a reason, and the right one isn't."""
    if right is not None:
        assert solve(program, what, right).returncode == 0
    for asked in wrong:
        told = solve(program, what, asked)
        assert told.returncode == 2 and told.stderr and not told.stdout, f"{asked}: {told}"
    return f"{len(wrong)} refused with a reason"


def near(found, wanted, relative, what):
    error = abs(found / wanted - 1)
    if error > relative:
        raise AssertionError(f"{what}: {found} instead of {wanted}, off by {error:.3%}")
    return error


def program(usage):
    if len(sys.argv) != 2:
        raise SystemExit(usage)
    return sys.argv[1]
