"""What the commands of this folder share: a program that serves on a database of its own, people who sign in at it and send forms."""
import contextlib
import csv
import datetime
import http.client
import io
import re
import signal
import subprocess
import sys
import tempfile
import threading
import urllib.parse
import uuid
from pathlib import Path

PASSPHRASE = "four words of wool and hemp"
GIVEN = "a gull and seven herrings"
INSTRUCTOR = "Ines Probe"


@contextlib.contextmanager
def fresh(kind):
    """A place for a database, as arguments of the program: a directory for `sqlite`, otherwise a database of its own beside the one
    that a PostgreSQL address names. It is gone afterwards, also when the command is told to stop."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit("stopped"))
    if kind == "sqlite":
        with tempfile.TemporaryDirectory(prefix="thrumhall_load_") as folder:
            yield ["--data", folder]
        return
    name = f"thrumhall_load_{uuid.uuid4().hex}"
    admin = ["psql", "--no-psqlrc", "--quiet", kind, "--command"]
    subprocess.run([*admin, f"CREATE DATABASE {name}"], check=True)
    try:
        yield ["--database-url", kind.rsplit("/", 1)[0] + "/" + name]
    finally:
        subprocess.run([*admin, f"DROP DATABASE {name} WITH (FORCE)"], check=True)


def run(program, *arguments):
    """A command of the program to its end: its exit code and all that it said."""
    ran = subprocess.run([program, *map(str, arguments)], capture_output=True, text=True, timeout=300)
    return ran.returncode, ran.stdout + ran.stderr


def check(program, place):
    code, told = run(program, "check", *place)
    assert code == 0, told


class Served:
    """A program that serves on a database, on a port of its own."""

    def __init__(self, program, place):
        command = [program, "serve", *place, "--listen", "127.0.0.1:0"]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        self.setup = None
        for line in self.process.stdout:
            if found := re.search(r"http://\S+(/setup/\S+)", line):
                self.setup = found[1]
            if line.startswith("Thrumhall serves"):
                self.host, port = line.strip().removeprefix("Thrumhall serves http://").rsplit(":", 1)
                self.port = int(port)
                return
        raise SystemExit(f"{program} never served")

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.kill()

    def kill(self):
        """Ends it at once, without a word."""
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()

    def stop(self):
        """Tells it to stop, and waits as long as it may take."""
        self.process.terminate()
        code = self.process.wait(8)
        self.process.stdout.close()
        assert code == 0, f"it ended with {code}"

    def resident(self, which="VmRSS"):
        """Its resident memory in MB; `VmHWM` is the most that it ever was."""
        status = Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.search(rf"{which}:\s+(\d+)", status)[1]) / 1024


class Answer:
    """What came back; status 0 where nothing did."""

    def __init__(self, status=0, headers=None, text=""):
        self.status, self.headers, self.text = status, headers or {}, text

    @property
    def to(self):
        """Where it leads."""
        return self.headers.get("Location", "")

    def is_(self, *statuses):
        if self.status not in statuses:
            words = re.sub(r"<[^>]+>|\s+", " ", self.text)
            raise AssertionError(f"{self.status} instead of {statuses}: {' '.join(words.split())[:1500]}")
        return self

    def id(self):
        """The id in the address that it leads to."""
        return re.search(r"[0-9a-f]{8}-[0-9a-f-]{27}", self.to)[0]


class Browser:
    """Somebody's browser. It can be shown to another copy of the program by `at`."""

    def __init__(self, served, source=None):
        self.served, self.source = served, source
        self.cookies = {}

    def at(self, served):
        other = Browser(served, self.source)
        other.cookies = dict(self.cookies)
        return other

    def ask(self, method, path, fields=None):
        """Asks once, by a connection of its own: nothing is tried again behind the caller's back."""
        headers = {"Host": "loft.test", "Sec-Fetch-Site": "same-origin", "Connection": "close"}
        if self.cookies:
            headers["Cookie"] = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        body = None
        if fields is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
            body = urllib.parse.urlencode(fields)
        source = (self.source, 0) if self.source else None
        connection = http.client.HTTPConnection(self.served.host, self.served.port, timeout=35, source_address=source)
        try:
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            text = answer.read().decode(errors="replace")
        except (OSError, http.client.HTTPException):
            return Answer()
        finally:
            connection.close()
        for set_ in answer.headers.get_all("Set-Cookie") or []:
            name, _, value = set_.split(";")[0].partition("=")
            self.cookies[name] = value
            if not value:
                del self.cookies[name]
        return Answer(answer.status, answer.headers, text)

    def get(self, path):
        return self.ask("GET", path)

    def post(self, path, **fields):
        """Sends a form as its page would, with a key that none had before unless one is given."""
        return self.send(path, fields)

    def send(self, path, fields):
        return self.ask("POST", path, {"key": key(), **fields})

    def table(self, path):
        """The rows of a table that is taken away."""
        text = self.get(path).is_(200).text
        return list(csv.DictReader(io.StringIO(text.removeprefix("\ufeff"))))

    def sign_in(self, name, passphrase=PASSPHRASE):
        return self.post("/sign-in", name=name, passphrase=passphrase)


def key():
    """A form's key, as its page carries one."""
    return str(uuid.uuid4())


def set_up(served):
    """Sets the workroom up, and gives the instructor's browser."""
    me = Browser(served)
    answer = me.post(
        served.setup, workroom="Test Loft", time_zone="UTC", units="metric", name=INSTRUCTOR,
        passphrase=PASSPHRASE, again=PASSPHRASE,
    )
    answer.is_(303)
    assert me.cookies, "no session was opened"
    return me


def person(me, role, name):
    """Adds somebody with a passphrase of their own: their id and their browser, signed in."""
    added = me.post("/people", role=role, name=name, contact="", passphrase=GIVEN, again=GIVEN).is_(303)
    theirs = Browser(me.served)
    theirs.sign_in(name, GIVEN).is_(303)
    theirs.post("/me/passphrase", old=GIVEN, passphrase=PASSPHRASE, again=PASSPHRASE).is_(303)
    return added.id(), theirs


def weaver(me, name):
    """Adds a weaver: their id and the address of their personal link."""
    added = me.post("/people", role="weaver", name=name, contact="").is_(303).id()
    page = me.send(f"/people/{added}/link", {}).is_(200, 303)
    link = page if page.status == 200 else me.get(page.to)
    return added, re.search(r"/enter/[\w-]+", link.text)[0]


def rug(me, weaver_id, name, band="30 in"):
    """Plans a rug of 18 by 33 in for a weaver (common practice, no source), and gives its id."""
    fields = {
        "name": name, "weaver": weaver_id, "size": "other", "width": "18 in", "span": "33 in", "nails": "33",
        "strip_width": "1 1/2 in", "warp_kind": "percale", "weft_kind": "percale", "strands": "trade", "unit_size": "2",
        "rugs_before": "0", "home_minutes": "0", "band-1-height": band, "band-1-first": "white", "band-1-other": "navy",
    }
    return me.send("/rugs", fields).is_(303).id()


def frame(me, tag):
    """Adds a frame that such a rug fits, and gives its id."""
    size = {"span": "33 in", "width": "18 in", "nails": "33", "condition": "sound", "note": ""}
    return me.send("/frames", {"tag": tag, **size}).is_(303).id()


def weigh_in(me, weight, note="", **more):
    fields = {"kind": "percale", "colour": "cream", "weight": weight, "washed": "yes", "note": note, **more}
    return me.send("/cloth/weigh-in", fields)


def loan(frame_id, rug_id):
    """The form by which a rug goes out on a frame."""
    due = datetime.date.today() + datetime.timedelta(days=14)
    return {"frame": frame_id, "rug": rug_id, "rod": "none", "rods": "0", "due_on": due.isoformat()}


# The form by which a loan ends.
RETURN = {"condition": "sound", "rug": "planned", "rods_bent": "0", "rods_missing": "0", "note": ""}


def at_once(*acts):
    """Does these at the same moment, each in a thread of its own, and gives what came of them in their order."""
    together = threading.Barrier(len(acts))
    ends = [None] * len(acts)

    def do(number, act):
        try:
            together.wait(30)
            ends[number] = act()
        except BaseException as fault:  # noqa: BLE001 - told by the thread that waits
            ends[number] = fault

    threads = [threading.Thread(target=do, args=pair) for pair in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for end in ends:
        if isinstance(end, BaseException):
            raise end
    return ends

