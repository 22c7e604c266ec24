"""What ten thousand workrooms would take, from what one takes here.

    python tests/load/workrooms.py target/release/thrumhall --postgres postgres://postgres@127.0.0.1:5432/test

Ten years are filled in once on each database and copied; so many copies of the program serve at once, each on its own. Told are, for
each workroom: what it keeps on disk, memory of its own (not shared with the other copies) at rest and after its pages were asked for,
threads, open files, connections and the server's memory behind them, processor at rest, and how long it takes from its start to its first
page, since what nobody asks for need not run. Then an evening is simulated: ten thousand classes whose meetings lie as `EVENINGS` says, each
person asking for a page now and then, served by so many cores in the order in which they ask; the processor's time of a page is what was
measured. Told are the classes that meet at once, and how many cores keep 99 of 100 pages under 100 ms.

How classes meet and ask is a guess of ours, and marked so; everything else is measured.
"""
import argparse
import heapq
import pathlib
import random
import re
import shutil
import statistics
import subprocess
import tempfile
import time
import uuid

from pages import Served, database, fetch, fill, machine, pages_of

ROOMS = 10_000
# Guesses of ours: a class meets once a week, on one of five evenings, beginning between six and half past seven, for two and a half
# hours; people live in three time zones, in these parts; thirteen people are there, and each asks for a page every two minutes.
EVENINGS = {"days": 5, "begins": (18 * 60, 19.5 * 60), "minutes": 150, "zones": {0: 0.5, 60: 0.3, 180: 0.2}}
PEOPLE = 13
PAUSE = 120.0
# A page may take so long, for 99 of 100.
PATIENCE = 0.1


def own_memory(pid):
    """Memory in MB that goes when this process goes."""
    told = pathlib.Path(f"/proc/{pid}/smaps_rollup").read_text()
    return sum(int(kb) for kb in re.findall(r"^Private_(?:Clean|Dirty):\s+(\d+)", told, re.M)) / 1024


def processor(pid):
    """Seconds of processor that a process took so far."""
    fields = pathlib.Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / 100


def size(folder):
    return sum(file.stat().st_size for file in pathlib.Path(folder).rglob("*") if file.is_file()) / 1e6


def query(server, statement):
    command = ["psql", "--no-psqlrc", "-qtA", server, "-c", statement]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()


def backends(server, names):
    """How many connections there are to these databases, and the memory in MB of a server's process behind one."""
    listed = ", ".join(f"'{name}'" for name in names)
    pids = query(server, f"SELECT pid FROM pg_stat_activity WHERE datname IN ({listed})").split()
    try:
        sizes = [own_memory(pid) for pid in pids]
    except OSError:
        sizes = []
    return len(pids), statistics.mean(sizes) if sizes else None


def load(base, ways, rounds):
    """Asks every page anew so many times; how many were asked."""
    pages = pages_of(base, ways)
    for number in range(rounds):
        for path, cookie in pages.values():
            status = fetch(f"{base}{path}?n={number}-{uuid.uuid4()}", cookie)[0]
            assert status == 200, (path, status)
    return rounds * len(pages)


def measure(program, places, ways, disk, connections):
    """One line of the table, from copies that serve at once; and the processor's time of a page."""
    served = []
    try:
        for place in places:
            served.append(Served(program, place))
        time.sleep(2)
        pids = [one.process.pid for one in served]
        rest = statistics.mean(map(own_memory, pids))
        threads = statistics.mean(len(list(pathlib.Path(f"/proc/{pid}/task").iterdir())) for pid in pids)
        files = statistics.mean(len(list(pathlib.Path(f"/proc/{pid}/fd").iterdir())) for pid in pids)
        before, began = sum(map(processor, pids)), time.monotonic()
        time.sleep(20)
        idle = (sum(map(processor, pids)) - before) / (time.monotonic() - began) / len(pids)
        before = sum(map(processor, pids))
        asked = sum(load(one.base, ways, 6) for one in served)
        page = (sum(map(processor, pids)) - before) / asked
        after = statistics.mean(map(own_memory, pids))
        held, behind = connections()
        start = statistics.median(one.start for one in served)
    finally:
        for one in served:
            one.stop()
    per_room = held / len(places)
    server = "–" if not held else f"{per_room:.0f} of {behind:.1f} MB" if behind is not None else f"{per_room:.0f}"
    print(
        f"disk {disk:.0f} MB; memory {rest:.0f} MB at rest, {after:.0f} MB after its pages; {threads:.0f} threads; {files:.0f} open files; "
        f"connections {server}; processor at rest {idle * 1000:.2f} ms a second; first page after {start:.0f} ms; a page made anew "
        f"{page * 1000:.1f} ms of processor"
    )
    return rest, after, per_room, page, start


def meetings(chance):
    """When each class's meeting begins this week, in minutes from Monday, by the server's clock."""
    zones, parts = zip(*EVENINGS["zones"].items())
    for _ in range(ROOMS):
        day = chance.randrange(EVENINGS["days"])
        yield day * 1440 + chance.uniform(*EVENINGS["begins"]) + chance.choices(zones, parts)[0]


def busiest(begins):
    """The minute at which most classes meet, and how many do."""
    changes = sorted([(at, 1) for at in begins] + [(at + EVENINGS["minutes"], -1) for at in begins])
    now, most, when = 0, 0, 0.0
    for at, change in changes:
        now += change
        if now > most:
            most, when = now, at
    return when, most


def waiting(chance, rate, page, cores, seconds):
    """The 99th percentile of how long pages take, asked for at random and served in turn by so many cores."""
    free = [0.0] * cores
    at, took = 0.0, []
    while at < seconds:
        at += chance.expovariate(rate)
        start = max(at, heapq.heappop(free))
        # Pages differ: about as much as an exponential.
        end = start + chance.expovariate(1 / page)
        heapq.heappush(free, end)
        took.append(end - at)
    return statistics.quantiles(took, n=100)[98]


def evening(page):
    chance = random.Random(2027)
    begins = list(meetings(chance))
    _, most = busiest(begins)
    rate = most * PEOPLE / PAUSE
    cores = max(1, int(rate * page))
    while waiting(chance, rate, page, cores, 60) > PATIENCE and cores < 4096:
        cores += max(1, cores // 20)
    return most, rate, cores


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("program")
    ask.add_argument("--postgres", required=True, help="a server on which databases may be made")
    ask.add_argument("--copies", type=int, default=6)
    ask.add_argument("--years", type=int, default=10)
    asked = ask.parse_args()
    program = str(pathlib.Path(asked.program).resolve())
    print(f"On {machine()}. {asked.copies} workrooms at once, {asked.years} years each.\n")
    folder = pathlib.Path(tempfile.mkdtemp(prefix="thrumhall_rooms_"))
    names = [f"rooms_{uuid.uuid4().hex}" for _ in range(asked.copies)]
    try:
        first = folder / "0"
        _, ways = fill(program, ["--data", str(first)], asked.years)
        for number in range(1, asked.copies):
            shutil.copytree(first, folder / str(number))
        places = [["--data", str(folder / str(number))] for number in range(asked.copies)]
        file = size(first)
        print("SQLite, a file each: ", end="", flush=True)
        rest, after, _, page, start = measure(program, places, ways, file, lambda: (0, None))

        at = asked.postgres.rsplit("/", 1)[0] + "/"
        database(asked.postgres, names[0], "make")
        _, ways = fill(program, ["--database-url", at + names[0]], asked.years)
        disk = int(query(asked.postgres, f"SELECT pg_database_size('{names[0]}')")) / 1e6
        began = time.monotonic()
        for name in names[1:]:
            query(asked.postgres, f"CREATE DATABASE {name} TEMPLATE {names[0]}")
        copied = (time.monotonic() - began) / max(1, asked.copies - 1)
        places = [["--database-url", at + name] for name in names]
        print("PostgreSQL, a database each: ", end="", flush=True)
        _, _, held, server_page, _ = measure(program, places, ways, disk, lambda: backends(asked.postgres, names))
        print(f"(a database is copied in {copied * 1000:.0f} ms; its server's own processor is on top)")
    finally:
        for name in names:
            database(asked.postgres, name, "drop")
        shutil.rmtree(folder, ignore_errors=True)

    print(f"\n{ROOMS} workrooms by that, with classes that meet and ask as guessed:")
    most, rate, cores = evening(page)
    print(f"- {most} classes meet at once; {rate:.0f} pages a second, none of them kept: {cores} cores keep 99 of 100 under {PATIENCE * 1000:.0f} ms")
    print(f"- memory: {ROOMS * rest / 1024:.0f} GB if all run, {most * after / 1024:.0f} GB if only those run that meet (each begins in {start:.0f} ms)")
    print(f"- disk: {ROOMS * file / 1024:.0f} GB by file, {ROOMS * disk / 1024:.0f} GB on PostgreSQL; a night's backups as much again")
    print(f"- PostgreSQL: {ROOMS * held:.0f} connections if all run, {most * held:.0f} if only those that meet; {server_page * 1000:.1f} ms a page beside the server's")


if __name__ == "__main__":
    main()
