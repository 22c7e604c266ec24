"""Proves docker-compose.yml as far as that goes without a container engine: reads it, follows its build by hand, and runs
what it builds as it would be run: as nobody in particular, with nothing but its own environment, on PostgreSQL.

compose.py TEST_DATABASE_URL (makes a database beside it, and drops it)
"""
import os
import re
import shlex
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from urllib.parse import urlsplit

import yaml

ROOT = Path(__file__).resolve().parent.parent
# What Debian's slim image has; the program may need no other library.
LIBRARIES = {"linux-vdso.so.1", "libgcc_s.so.1", "libm.so.6", "libc.so.6"}


def must(holds, what):
    if not holds:
        raise SystemExit(f"docker-compose.yml: {what}")


def read():
    text = (ROOT / "docker-compose.yml").read_text()
    services = yaml.safe_load(text)["services"]
    for name, service in services.items():
        must("healthcheck" in service, f"{name} has no healthcheck")
        for volume in service.get("volumes", []):
            must(volume.split(":")[0] in yaml.safe_load(text)["volumes"], f"{name}'s volume {volume} has no name")
    secrets = re.findall(r"\$\{\w*(?:PASSWORD|SECRET)\w*([^}]*)\}", text)
    must(secrets and all(rest.startswith(":?") for rest in secrets), "a password has a default")
    return services["thrumhall"], services["database"]


def build(dockerfile, into):
    """Follows the instructions of both stages in directories instead of layers; gives the program and its user."""
    stages, user = [], None
    for line in dockerfile.splitlines():
        word, _, rest = line.partition(" ")
        if word == "FROM":
            stages.append(Path(into) / str(len(stages)))
            stages[-1].mkdir()
        elif word == "COPY" and rest.startswith("--from="):
            source, target = rest.split()[1:]
            shutil.copy2(built(source), stages[-1] / Path(target).name)
        elif word == "COPY":
            *sources, target = rest.split()
            for source in sources:
                to = stages[-1] / target
                copy = shutil.copytree if (ROOT / source).is_dir() else shutil.copy2
                copy(ROOT / source, to)
        elif word == "RUN" and rest.startswith("cargo"):
            subprocess.run(shlex.split(rest), cwd=stages[-1], check=True)
        elif word == "USER":
            user = rest
    must(len(stages) == 2, "the build has other than two stages")
    must(user and user != "root", "the program runs as root")
    return stages[1] / "thrumhall"


def built(source):
    """Where Cargo left what the first stage has at /src/target."""
    return Path(os.environ["CARGO_TARGET_DIR"]) / Path(source).relative_to("/src/target")


def run(program, service, url, backups):
    linked = subprocess.run(["ldd", program], check=True, capture_output=True, text=True).stdout
    names = {line.split()[0] for line in linked.splitlines()} - LIBRARIES
    must(all("ld-linux" in name for name in names), f"the program needs {names}, which the image lacks")

    port = free_port()
    environment = {
        "DATABASE_URL": url,
        "THRUMHALL_LISTEN": f"127.0.0.1:{port}",
        "THRUMHALL_PUBLIC_URL": "http://localhost:8080",
        "THRUMHALL_BEHIND_PROXY": "false",
        "THRUMHALL_SMTP": "",
        "THRUMHALL_MAIL_FROM": "",
        "THRUMHALL_PRIVATE_RECEIVERS": "false",
        "THRUMHALL_BACKUP_DIR": str(backups),
        "THRUMHALL_LOG_FORMAT": "plain",
    }
    must(set(environment) == set(service["environment"]), "the service's environment has changed: follow it here")
    must(service["environment"]["THRUMHALL_LISTEN"] == "0.0.0.0:8080", "nobody outside the container can reach it")
    must(service["read_only"] is True and service["tmpfs"] == ["/tmp"], "the program may write to its own files")
    must(service["volumes"] == ["backups:/backups"], "backups have no place of their own: follow it here")
    limit = re.fullmatch(r"(\d+)m", service["mem_limit"])
    must(limit, "the program's memory has no limit")
    os.chown(backups, 65534, 65534)
    nobody = ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups", "--no-new-privs"]
    command = re.search(r'^CMD \["thrumhall", "(\w+)"\]$', service["build"]["dockerfile_inline"], re.M)[1]
    running = subprocess.Popen([*nobody, program, command], env=environment, cwd="/", stdout=subprocess.PIPE, text=True)
    try:
        test = service["healthcheck"]["test"]
        must(test[:3] == ["CMD", "thrumhall", "healthcheck"], "the healthcheck is another: follow it here")
        ask = [*nobody, program, "healthcheck", test[3].replace(":8080", f":{port}")]
        for _ in range(100):
            if subprocess.run(ask, env={}, capture_output=True).returncode == 0:
                break
            must(running.poll() is None, "the program ended")
            time.sleep(0.1)
        else:
            raise SystemExit("the program never became well")
        for _ in range(100):
            if any(backups.glob("thrumhall-*.zip")):
                break
            time.sleep(0.1)
        else:
            raise SystemExit("the first backup was never made")
        status = Path(f"/proc/{running.pid}/status").read_text()
        peak = int(re.search(r"^VmHWM:\s+(\d+) kB$", status, re.M)[1])
        must(peak * 1024 * 4 < int(limit[1]) << 20, f"{peak} kB at the beginning is near to its limit of {limit[0]}")
    finally:
        running.terminate()
        said = running.communicate(timeout=30)[0]
    must(running.returncode == 0, f"the program stopped with {running.returncode}")
    must("http://localhost:8080/setup/" in said, "no setup link at the public address")


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def ask(server, statement):
    subprocess.run(["psql", "--no-psqlrc", "--quiet", "-c", statement, server], check=True)


def main():
    server = sys.argv[1]
    service, database = read()
    must(database["healthcheck"]["test"][1] == "pg_isready", "the database's healthcheck is another: try it here")
    host = urlsplit(server).hostname
    subprocess.run([*database["healthcheck"]["test"][1:], f"--host={host}"], check=True)
    name = f"thrumhall_compose_{os.getpid()}"
    with tempfile.TemporaryDirectory() as scratch:
        Path(scratch).chmod(0o755)
        program = build(service["build"]["dockerfile_inline"], scratch)
        ask(server, f"CREATE DATABASE {name}")
        try:
            backups = Path(scratch) / "backups"
            backups.mkdir(mode=0o700)
            run(program, service, server.rsplit("/", 1)[0] + f"/{name}", backups)
        finally:
            ask(server, f"DROP DATABASE {name} WITH (FORCE)")
    print("read, built by hand, run as nobody, found well")


main()
