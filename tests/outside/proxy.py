"""Puts nginx in front of the program by the block that README.md prints, and Caddy by deploy/Caddyfile, word for word but for ports,
places and names, and asks through each: sizes of bodies, who is said to ask, cookies, secrets in its logs, what is asked in the
clear.

proxy.py PROGRAM: prints each check, and `N passed, N failed` last. Needs nginx and openssl; Caddy is tried where it is installed.
"""
import contextlib
import http.client
import os
import re
import shutil
import socket
import ssl
import subprocess
import tempfile
import time
import urllib.parse
from pathlib import Path

from checks import program, run

SEED = 7_230
ROOT = Path(__file__).resolve().parents[2]
README = ROOT / "README.md"
CADDYFILE = ROOT / "deploy" / "Caddyfile"
SECRETS = ["/enter/secret-of-somebody", "/setup/secret-of-somebody", "/calendar/secret-of-somebody.ics", "/let-in/secret-of-somebody"]


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class House:
    """The program with nginx before it, in a folder of its own."""

    def __init__(self, program, folder):
        self.folder = Path(folder)
        self.inner, self.port, self.plain = free_port(), free_port(), free_port()
        url = f"https://localhost:{self.port}"
        told = open(self.folder / "program.log", "w")
        self.program = subprocess.Popen(
            [program, "serve", "--data", self.folder / "data", "--listen", f"127.0.0.1:{self.inner}", "--public-url", url, "--behind-proxy"],
            stdout=told, stderr=told,
        )
        self.begin()
        for _ in range(200):
            try:
                if self.ask("GET", "/healthz")[0] == 200:
                    return
            except OSError:
                pass
            time.sleep(0.1)
        raise AssertionError("nothing answers through the proxy")

    # What an address of which kind comes to in the log of what was asked.
    def masked(self, kind):
        return f"GET /{kind}/... HTTP"

    written_out = "GET /sign-in?seen=yes HTTP"
    # nginx refuses by itself what is larger than anything that is read.
    too_large = (413,)

    def begin(self):
        subprocess.run(
            ["openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-subj", "/CN=localhost", "-addext", "subjectAltName=DNS:localhost",
             "-keyout", self.folder / "privkey.pem", "-out", self.folder / "fullchain.pem", "-days", "2"],
            check=True, capture_output=True,
        )
        (self.folder / "nginx.conf").write_text(self.config())
        ask = ["nginx", "-p", self.folder, "-c", self.folder / "nginx.conf", "-e", self.folder / "start.log"]
        checked = subprocess.run([*ask, "-t"], capture_output=True, text=True)
        assert checked.returncode == 0, checked.stderr
        assert "warn" not in checked.stderr, checked.stderr
        self.proxy = subprocess.Popen([*ask, "-g", "daemon off;"])
        self.trust = ssl.create_default_context(cafile=self.folder / "fullchain.pem")

    def config(self):
        """README's block, on ports that anybody may open and without IPv6, which a machine may lack."""
        block = re.search(r"```nginx\n(.*?)```", README.read_text(), re.S)[1]
        here = [
            (r"listen 443 ssl;", f"listen 127.0.0.1:{self.port} ssl;"),
            (r"listen 80;", f"listen 127.0.0.1:{self.plain};"),
            (r" *listen \[::\]:(443 ssl|80);\n", ""),
            (r"server_name rugs\.example;", "server_name localhost;"),
            (r"/etc/ssl/rugs\.example", str(self.folder)),
            (r"/var/log/nginx", str(self.folder)),
            (r"127\.0\.0\.1:8080", f"127.0.0.1:{self.inner}"),
            (r"Host \$host;", "Host $http_host;"),
        ]
        for what, to in here:
            block, times = re.subn(what, to, block)
            assert times, f"{what} isn't in README's block"
        places = "".join(
            f"{kind}_temp_path {self.folder}/{kind};\n" for kind in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
        )
        return f"pid {self.folder}/nginx.pid;\nevents {{}}\nhttp {{\n{places}{block}}}\n"

    def ask(self, method, path, body=None, headers=None):
        line = http.client.HTTPSConnection("localhost", self.port, context=self.trust, timeout=20)
        line.request(method, path, body, headers or {})
        answer = line.getresponse()
        text = answer.read()
        return answer.status, answer.headers, text

    def post(self, path, fields, headers=None):
        head = {"Content-Type": "application/x-www-form-urlencoded", "Sec-Fetch-Site": "same-origin", **(headers or {})}
        return self.ask("POST", path, urllib.parse.urlencode(fields), head)

    def logs(self):
        time.sleep(0.3)
        return "".join(path.read_text() for path in self.folder.glob("*.log"))

    def stop(self):
        for running in (self.proxy, self.program):
            running.terminate()
            running.wait(30)


class CaddyHouse(House):
    """The same with Caddy, which makes its certificate itself."""

    def masked(self, kind):
        return f'"uri":"/{kind}/-"'

    written_out = '"uri":"/sign-in?seen=yes"'
    # The program says what it thinks of it, and to a stranger first that they are one.
    too_large = (401,)

    def config(self):
        """The file as it is, on ports that anybody may open, with a certificate of Caddy's own making."""
        text = CADDYFILE.read_text()
        here = [
            (r"\n\{\n", f"\n{{\n\tadmin off\n\thttp_port {self.plain}\n\thttps_port {self.port}\n\tskip_install_trust\n"),
            (r"\nrugs\.example \{\n", f"\nhttps://localhost:{self.port} {{\n\ttls internal\n"),
            (r"http://rugs\.example", f"http://localhost:{self.plain}"),
            (r"127\.0\.0\.1:8080", f"127.0.0.1:{self.inner}"),
        ]
        for what, to in here:
            text, times = re.subn(what, to, text)
            assert times == 1, f"{what} stands {times} times in deploy/Caddyfile"
        return text

    def begin(self):
        (self.folder / "Caddyfile").write_text(self.config())
        at = {**os.environ, "XDG_DATA_HOME": str(self.folder / "caddy"), "XDG_CONFIG_HOME": str(self.folder / "caddy")}
        ask = ["--config", self.folder / "Caddyfile", "--adapter", "caddyfile"]
        for file in (CADDYFILE, self.folder / "Caddyfile"):
            checked = subprocess.run(["caddy", "adapt", "--config", file, "--validate"], capture_output=True, text=True, env=at)
            assert checked.returncode == 0, checked.stderr
        told = open(self.folder / "caddy.log", "w")
        self.proxy = subprocess.Popen(["caddy", "run", *ask], stdout=told, stderr=told, env=at)
        root = self.folder / "caddy" / "caddy" / "pki" / "authorities" / "local" / "root.crt"
        for _ in range(200):
            if root.exists() and root.stat().st_size:
                break
            time.sleep(0.1)
        self.trust = ssl.create_default_context(cafile=root)


def secrets_masked(house):
    for path in SECRETS:
        house.ask("GET", path)
    house.ask("GET", "/sign-in?seen=yes")
    logs = house.logs()
    assert "secret-of-somebody" not in logs, [line for line in logs.splitlines() if "secret-of" in line]
    for kind in ("enter", "setup", "calendar", "let-in"):
        assert house.masked(kind) in logs, logs
    assert house.written_out in logs, "other addresses are written out"
    return "four kinds of secret left out of every log"


def nothing_behind(house):
    """When nothing stands behind it, what went wrong is written without the secret, too. The last check: the program is gone."""
    house.program.terminate()
    house.program.wait(30)
    for path in SECRETS:
        assert house.ask("GET", path)[0] == 502
    logs = house.logs()
    assert "secret-of-somebody" not in logs, [line for line in logs.splitlines() if "secret-of" in line]
    return "nor when nothing answers behind it"


def last_address(house):
    """What a visitor claims of where they come from isn't passed on: all of this is one address, whose tries are counted."""
    found = [house.post("/sign-in", {"name": f"Name {n}", "passphrase": "not this one, no"}, {"X-Forwarded-For": f"203.0.113.{n}"})[0] for n in range(31)]
    assert found == [422] * 30 + [429], found
    return "31 tries with 31 made-up addresses"


def bodies(house):
    status, _, text = house.post("/sign-in", {"name": "x" * 300_000})
    assert status == 413 and b"Thrumhall" in text, "a form is too large for the program, which says so itself"
    # A list of cloth may have 2 MB: who isn't signed in is told so, by the program and not by nginx.
    status, _, text = house.post("/cloth/import", {"list": "x" * 1_900_000})
    assert b"nginx" not in text and status in (401, 413), (status, text[:200])
    status, _, text = house.post("/cloth/import", {"list": "x" * 4_000_000})
    assert status in house.too_large, (status, text[:200])
    return "300 kB, 1.9 MB and 4 MB"


def signs_in(house):
    told = (house.folder / "program.log").read_text()
    setup = urllib.parse.urlsplit(re.search(r"https://localhost:\S+/setup/\S+", told)[0]).path
    phrase = "seven herrings under the quay"
    fields = {"workroom": "Loft", "time_zone": "UTC", "units": "metric", "name": "Ines Quay", "passphrase": phrase, "again": phrase}
    status, head, text = house.post(setup, fields)
    assert status == 303, text[:2000]
    cookie = next(one for one in head.get_all("Set-Cookie") if one.startswith("__Host-thrumhall="))
    assert cookie.startswith("__Host-thrumhall=") and "Secure" in cookie, cookie
    status, _, text = house.ask("GET", "/today", headers={"Cookie": cookie.split(";")[0]})
    assert status == 200 and b"Ines Quay" in text
    return "set up and signed in over TLS"


def leads_to_tls(house):
    line = http.client.HTTPConnection("localhost", house.plain, timeout=20)
    line.request("GET", "/sign-in")
    answer = line.getresponse()
    answer.read()
    assert answer.status == 301 and answer.headers["Location"] == "https://localhost/sign-in", answer.headers
    line.request("GET", "/calendar/secret-of-somebody.ics")
    answer = line.getresponse()
    answer.read()
    assert answer.status == 403 and "Location" not in answer.headers, answer.headers
    return "plain HTTP leads to TLS, but for calendars"


def main(program):
    for tool in ("nginx", "openssl"):
        assert shutil.which(tool), f"{tool} is missing"
    kinds = [House]
    if shutil.which("caddy"):
        kinds.append(CaddyHouse)
    else:
        print("SKIPPED: caddy isn't installed")
    with contextlib.ExitStack() as stack:
        houses = []
        for kind in kinds:
            folder = stack.enter_context(tempfile.TemporaryDirectory())
            Path(folder).chmod(0o755)
            houses.append(kind(program, folder))
            stack.callback(houses[-1].stop)
        checks = []
        for house, name in zip(houses, ("nginx", "Caddy")):
            checks += [
                (f"{name}: secrets in its logs", lambda _, house=house: secrets_masked(house)),
                (f"{name}: sizes of bodies", lambda _, house=house: bodies(house)),
                (f"{name}: signing in", lambda _, house=house: signs_in(house)),
                (f"{name}: plain HTTP", lambda _, house=house: leads_to_tls(house)),
                (f"{name}: who asks", lambda _, house=house: last_address(house)),
                (f"{name}: nothing behind it", lambda _, house=house: nothing_behind(house)),
            ]
        return run(SEED, checks)


if __name__ == "__main__":
    raise SystemExit(main(program(__doc__)))
