"""How fast pages are, in one go on one machine: against the smallest service on the same crates, and the shelf against the same
page in Flask under gunicorn.

    cargo build --release && cargo build --release --example ask
    pip install -r tests/load/requirements.txt
    python tests/load/pages.py target/release/thrumhall --postgres postgres://postgres@127.0.0.1:5432/test --table tests/load/table.md

For each database and number of years: how long the years take to fill in, how long a cold start takes until the first page, memory at
rest and after the load; and for each page its statements, requests per second as a part of hello-world's (made anew each time, under
an address that nobody asked for before; and kept, under the same one), and the median and the 99th percentile at an even pace of 200
requests a second, in the same two ways. With `--soak` the pages of ten years are asked for in turns, at that pace, for so many seconds, and memory is told
after each tenth of that time. Requests per second are those of wrk (from the system's packages) over 16 connections, the best of three goes, with
hello-world asked again beside each, since a machine is not always as fast; the even pace is `tests/load/ask.rs`.
"""
import argparse
import json
import os
import pathlib
import platform
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.parse
import urllib.request
import uuid

HERE = pathlib.Path(__file__).parent
ANEW = "local n = 0\nrequest = function() n = n + 1; return wrk.format('GET', '%s?n=%s-' .. n) end\n"


class Staying(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_):
        return None


def fetch(url, cookie=None, post=False):
    """Status, page and where it leads, and the session's cookie."""
    request = urllib.request.Request(url, data=b"" if post else None, headers={"Sec-Fetch-Site": "same-origin"})
    if cookie:
        request.add_header("Cookie", cookie)
    try:
        answer = urllib.request.build_opener(Staying).open(request, timeout=60)
    except urllib.error.HTTPError as error:
        answer = error
    with answer:
        kept = [one.split(";")[0] for one in answer.headers.get_all("Set-Cookie") or []]
        cookie = next((one for one in kept if one.startswith("thrumhall=")), None)
        return answer.status, answer.read().decode(), answer.headers.get("Location"), cookie


def resident(process):
    """Memory of a process and its children, in MB."""
    pids = [process.pid]
    children = pathlib.Path(f"/proc/{process.pid}/task/{process.pid}/children")
    pids += [int(pid) for pid in children.read_text().split()]
    sizes = [re.search(r"VmRSS:\s+(\d+)", pathlib.Path(f"/proc/{pid}/status").read_text()) for pid in pids]
    return sum(int(size[1]) for size in sizes if size) / 1024


def wrk(url, seconds, cookie=None, anew=None):
    command = ["wrk", "-t1", "-c16", f"-d{seconds}s", "--latency"]
    if cookie:
        command += ["-H", f"Cookie: {cookie}"]
    with tempfile.NamedTemporaryFile("w", suffix=".lua") as script:
        if anew:
            script.write(ANEW % (anew, uuid.uuid4()))
            script.flush()
            command += ["-s", script.name]
        told = subprocess.run([*command, url], capture_output=True, text=True, check=True).stdout
    if "Non-2xx" in told:
        raise SystemExit(f"{url}: {told}")
    return float(re.search(r"Requests/sec:\s+([\d.]+)", told)[1])


class Served:
    def __init__(self, program, place, log=None):
        began = time.monotonic()
        environment = {**os.environ, **({"RUST_LOG": "thrumhall::transactions=debug"} if log else {})}
        command = [program, "--log-format", "json", "serve", *place, "--listen", "127.0.0.1:0"]
        self.process = subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=open(log, "w") if log else subprocess.DEVNULL, text=True, env=environment
        )
        for line in self.process.stdout:
            if line.startswith("Thrumhall serves"):
                self.base = line.split()[-1]
                break
        fetch(self.base + "/sign-in")
        self.start = (time.monotonic() - began) * 1000

    def stop(self):
        self.process.terminate()
        self.process.wait(10)


def fill(program, place, years):
    """Fills the years in; how long that took, and the ways in by role."""
    began = time.monotonic()
    told = subprocess.run(
        [program, "demo", *place, "--years", str(years), "--only-fill", "--listen", "127.0.0.1:0"],
        capture_output=True, text=True, check=True,
    ).stdout
    took = time.monotonic() - began
    ways = dict(re.findall(r"^(\w+)\s+http://[^/]+(/enter/\S+)", told, re.M))
    return took, ways


def enter(base, way):
    fetch(base + way)
    return fetch(base + way, post=True)[3]


def pages_of(base, ways):
    """The pages, each with the cookie of who asks."""
    teacher, weaver = (enter(base, ways[role]) for role in ("instructor", "weaver"))
    term = re.search(r'href="/terms/([0-9a-f-]{36})', fetch(base + "/terms", teacher)[1])[1]
    rug = re.search(r'href="/rugs/([0-9a-f-]{36})', fetch(base + "/rugs", teacher)[1])[1]
    own = fetch(base + "/my", weaver)[2]
    return {
        "shelf": ("/cloth", teacher),
        "frames": ("/frames", teacher),
        "people": ("/people", teacher),
        "rugs": ("/rugs", teacher),
        "a rug": (f"/rugs/{rug}", teacher),
        "Today": ("/today", teacher),
        "timetable": (f"/terms/{term}/timetable", teacher),
        "a weaver’s page": (own, weaver),
    }


def statements(program, place, ways, folder):
    """How many statements each page takes when it is made anew, the session's own among them."""
    log = folder / "statements.log"
    served = Served(program, place, log)
    counts = {}
    try:
        for name, (path, cookie) in pages_of(served.base, ways).items():
            fetch(f"{served.base}{path}?n=first", cookie)
            time.sleep(0.2)
            before = log.read_text().count("\n")
            fetch(f"{served.base}{path}?n=second", cookie)
            time.sleep(0.2)
            lines = [json.loads(line) for line in log.read_text().splitlines()[before:]]
            counts[name] = sum(line.get("statements", 0) for line in lines if line.get("kind") == "read")
    finally:
        served.stop()
    return counts


def pace(helper, base, path, cookie, seconds):
    address = urllib.parse.urlsplit(base).netloc
    told = subprocess.run(
        [helper, "pace", address, path, cookie, "--rate", "200", "--seconds", str(seconds)],
        capture_output=True, text=True, check=True,
    ).stdout.split()
    if told[2] != "0":
        raise SystemExit(f"{path}: {told[2]} answers were no pages")
    return float(told[0]), float(told[1])


def soak(helper, served, ways, seconds):
    """Memory under load that goes on: each tenth of the time, and the most that it was."""
    pages = list(pages_of(served.base, ways).values())
    sizes = []
    for _ in range(10):
        for path, cookie in pages:
            pace(helper, served.base, path, cookie, max(1, seconds // 10 // len(pages)))
        sizes.append(resident(served.process))
    told = ", ".join(f"{size:.0f}" for size in sizes)
    return f"Memory in {seconds} s of load, 200 requests a second over all pages, after each tenth: {told} MB."


class Hello:
    def __init__(self, helper):
        self.process = subprocess.Popen([helper, "hello"], stdout=subprocess.PIPE, text=True)
        self.base = self.process.stdout.readline().strip()


def against(hello, seconds, ask, goes=3):
    """The best of some goes as a part of hello-world's beside it, with the requests per second."""
    best = (0, 0)
    for _ in range(goes):
        rate = ask(seconds)
        best = max(best, (rate / wrk(hello.base + "/", max(1, seconds // 2)), rate))
    return best


def flask(file, hello, seconds, cookie):
    """The same shelf in Flask."""
    environment = {**os.environ, "SHELF": str(file)}
    process = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "--workers", "2", "--bind", "127.0.0.1:8099", "--log-level", "error", "flask_shelf:app"],
        cwd=HERE, env=environment,
    )
    url = "http://127.0.0.1:8099/cloth"
    try:
        for _ in range(100):
            try:
                status, page, _, _ = fetch(url, cookie)
                break
            except OSError:
                time.sleep(0.1)
        assert status == 200 and page.count("<tr>") >= 100, (status, page[:500])
        ratio, rate = against(hello, seconds, lambda seconds: wrk(url, seconds, cookie))
        return ratio, rate, resident(process)
    finally:
        process.terminate()
        process.wait(10)


def database(server, name, act):
    """Makes or drops a database of a PostgreSQL server."""
    statement = f"DROP DATABASE IF EXISTS {name} WITH (FORCE)" if act == "drop" else f"CREATE DATABASE {name}"
    subprocess.run(["psql", server, "-qc", statement], check=True, capture_output=True)


def machine():
    model = re.search(r"model name\s*:\s*(.+)", pathlib.Path("/proc/cpuinfo").read_text())
    memory = re.search(r"MemTotal:\s+(\d+)", pathlib.Path("/proc/meminfo").read_text())
    load = os.getloadavg()[0]
    return (
        f"{os.cpu_count()} cores ({model[1].strip() if model else platform.machine()}), {int(memory[1]) >> 20} GB, "
        f"{platform.system()}; load when it began {load:.1f}"
    )


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("program")
    ask.add_argument("--years", type=int, nargs="+", default=[1, 10, 100])
    ask.add_argument("--postgres", help="a server on which databases may be made")
    ask.add_argument("--seconds", type=int, default=4)
    ask.add_argument("--soak", type=int, default=0, help="seconds of load on ten years of SQLite; 3600 is an hour")
    ask.add_argument("--table", type=pathlib.Path)
    asked = ask.parse_args()
    program = str(pathlib.Path(asked.program).resolve())
    helper = str(pathlib.Path(program).parent / "examples" / "ask")
    lines = []

    def say(line=""):
        print(line, flush=True)
        lines.append(line)

    say(f"On {machine()}.")
    say()
    hello = Hello(helper)
    folder = pathlib.Path(tempfile.mkdtemp())
    try:
        say(f"Hello-world: {max(wrk(hello.base + '/', asked.seconds) for _ in range(3)):,.0f} requests/s; this is 1 below.")
        kinds = ["SQLite"] + (["PostgreSQL"] if asked.postgres else [])
        ten = None
        for kind in kinds:
            for years in asked.years:
                name = f"load_{uuid.uuid4().hex}"
                if kind == "SQLite":
                    place = ["--data", str(folder / name)]
                else:
                    database(asked.postgres, name, "make")
                    place = ["--database-url", asked.postgres.rsplit("/", 1)[0] + "/" + name]
                took, ways = fill(program, place, years)
                counts = statements(program, place, ways, folder)
                starts = []
                for _ in range(3):
                    served = Served(program, place)
                    starts.append(served.start)
                    served.stop()
                served = Served(program, place)
                rest = resident(served.process)
                say()
                say(f"### {kind}, {years} {'year' if years == 1 else 'years'}")
                say()
                say("| page | statements | anew | kept | requests/s anew | kept | anew: p50 ms | p99 ms | kept: p50 ms | p99 ms |")
                say("|---|---|---|---|---|---|---|---|---|---|")
                for page, (path, cookie) in pages_of(served.base, ways).items():
                    url = served.base + path
                    anew = against(hello, asked.seconds, lambda s: wrk(url, s, cookie, path))
                    kept = against(hello, asked.seconds, lambda s: wrk(url, s, cookie))
                    paces = [pace(helper, served.base, p, cookie, asked.seconds) for p in (f"{path}?n={uuid.uuid4()}-{{n}}", path)]
                    paced = " | ".join(f"{ms:.2f}" for both in paces for ms in both)
                    say(
                        f"| {page} | {counts[page]} | {anew[0]:.4f} | {kept[0]:.3f} | {anew[1]:,.0f} | {kept[1]:,.0f} | {paced} |"
                    )
                    if page == "shelf":
                        shelf = (anew, kept)
                say()
                say(
                    f"Filled in {took:.1f} s; the first page {min(starts):.0f} ms after the start; {rest:.0f} MB at rest, "
                    f"{resident(served.process):.0f} MB after the load."
                )
                if kind == "SQLite" and years == 10 and asked.soak:
                    say()
                    say(soak(helper, served, ways, asked.soak))
                if kind == "SQLite" and years == 10:
                    cookie = pages_of(served.base, ways)["shelf"][1]
                    ratio, rate, memory = flask(folder / name / "thrumhall.sqlite", hello, asked.seconds, cookie)
                    say()
                    say(
                        f"The shelf in Flask under gunicorn, two workers: {ratio:.4f} ({rate:,.0f} requests/s, {memory:.0f} MB). Ours is "
                        f"{shelf[0][1] / rate:.1f} times that made anew, {shelf[1][1] / rate:.1f} times kept."
                    )
                served.stop()
                if kind == "PostgreSQL":
                    database(asked.postgres, name, "drop")
        if asked.table:
            asked.table.write_text("# How fast pages are\n\nWritten by `pages.py`, which says what is measured and how.\n\n" + "\n".join(lines) + "\n")
    finally:
        hello.process.terminate()
        shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    main()
