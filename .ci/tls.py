"""Proves what README.md says of PostgreSQL over TLS: a second cluster, with a certificate of an authority made for the day, is
spoken to with sslmode=verify-full when that authority is trusted, by file or by the system, and not otherwise.

tls.py PROGRAM (needs PostgreSQL's own programs and openssl; makes a cluster in a directory of its own, and removes it)
"""
import os
import pwd
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HBA = """local all all trust
hostssl all all 127.0.0.1/32 trust
"""


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def openssl(folder, *words):
    subprocess.run(["openssl", *words], cwd=folder, check=True, capture_output=True)


def certificates(folder):
    """An authority, and a certificate by it for localhost and for no address."""
    openssl(folder, "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=Test authority",
            "-addext", "basicConstraints=critical,CA:TRUE", "-addext", "keyUsage=critical,keyCertSign",
            "-keyout", "ca.key", "-out", "ca.pem")
    openssl(folder, "req", "-new", "-newkey", "rsa:2048", "-nodes", "-subj", "/CN=localhost", "-keyout", "server.key",
            "-out", "server.csr")
    (folder / "names").write_text("subjectAltName=DNS:localhost\n")
    openssl(folder, "x509", "-req", "-in", "server.csr", "-CA", "ca.pem", "-CAkey", "ca.key", "-CAcreateserial",
            "-days", "2", "-extfile", "names", "-out", "server.pem")


class Cluster:
    def __init__(self, folder):
        programs = sorted(Path("/usr/lib/postgresql").glob("*/bin"))
        if not programs:
            raise SystemExit("PostgreSQL's own programs are missing")
        self.bin, self.data, self.port = programs[-1], folder / "data", free_port()
        self.log = folder / "log"
        # The server refuses to run as root.
        self.user = pwd.getpwnam("postgres") if os.getuid() == 0 else None
        self.own(folder, folder / "server.key")
        self.run("initdb", "--pgdata", self.data, "--auth=trust", "--username=postgres", "--no-sync")
        (self.data / "pg_hba.conf").write_text(HBA)
        settings = {
            "listen_addresses": "127.0.0.1", "port": self.port, "unix_socket_directories": folder, "ssl": "on",
            "ssl_cert_file": folder / "server.pem", "ssl_key_file": folder / "server.key",
        }
        with (self.data / "postgresql.conf").open("a") as conf:
            conf.writelines(f"{name} = '{value}'\n" for name, value in settings.items())
        (folder / "server.key").chmod(0o600)
        self.run("pg_ctl", "--pgdata", self.data, "--log", self.log, "--wait", "start")

    def own(self, *paths):
        for path in paths if self.user else ():
            os.chown(path, self.user.pw_uid, self.user.pw_gid)

    def run(self, program, *words):
        who = {"user": self.user.pw_uid, "group": self.user.pw_gid, "extra_groups": []} if self.user else {}
        subprocess.run([self.bin / program, *words], check=True, stdout=subprocess.DEVNULL, cwd="/", **who)

    def stop(self):
        self.run("pg_ctl", "--pgdata", self.data, "--mode=immediate", "stop")


def main():
    program = Path(sys.argv[1]).resolve()
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        certificates(folder)
        cluster = Cluster(folder)
        try:
            ask(program, cluster.port, folder / "ca.pem")
        finally:
            cluster.stop()
    print("over TLS: served with the right authority by file and by the system, refused without it and under another name")


def opens(program, url, environment):
    """Whether a service starts there; it ends by itself where it isn't let in."""
    with tempfile.TemporaryFile("w+") as said:
        command = [program, "serve", "--listen", "127.0.0.1:0", "--database-url", url]
        running = subprocess.Popen(command, env=environment, stdout=said, stderr=said)
        try:
            for _ in range(300):
                said.seek(0)
                if "Thrumhall serves" in said.read():
                    return True
                if running.poll() is not None:
                    return False
                time.sleep(0.1)
            raise SystemExit("the program neither serves nor ends")
        finally:
            running.terminate()
            running.wait(30)


def ask(program, port, authority):
    def spoken(host, mode, more="", environment=None):
        url = f"postgres://postgres@{host}:{port}/postgres?sslmode={mode}{more}"
        return opens(program, url, environment or {})

    by_file = f"&sslrootcert={authority}"
    by_system = {"SSL_CERT_FILE": str(authority)}
    for what, found, expected in [
        ("with the authority's file", spoken("localhost", "verify-full", by_file), True),
        ("with the authority among the system's", spoken("localhost", "verify-full", environment=by_system), True),
        ("with an authority that nobody trusts", spoken("localhost", "verify-full"), False),
        ("under a name that the certificate hasn't", spoken("127.0.0.1", "verify-full", by_file), False),
        ("without TLS", spoken("localhost", "disable"), False),
    ]:
        if found != expected:
            raise SystemExit(f"PostgreSQL over TLS, {what}: {'it is' if found else 'it is not'} spoken to")


main()
