"""Proves docker-compose.yml as far as that goes without a container engine: reads it, follows its build by hand, and runs
what it builds as it would be run: as nobody in particular, with nothing but its own environment, on PostgreSQL.

compose.py build FOLDER            the first stage, with FOLDER for its /src
compose.py run TEST_DATABASE_URL   the second, and what is in the file; makes a database beside it, and drops it
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


def stages(service):
    """The instructions of the image's two stages."""
    found = []
    for line in service["build"]["dockerfile_inline"].splitlines():
        word, _, rest = line.partition(" ")
        if word == "FROM":
            found.append([])
        elif word:
            found[-1].append((word, rest))
    must(len(found) == 2, "the build has other than two stages")
    return found


def build(instructions, into):
    """Follows the stage that compiles, so that what it copies has to be enough."""
    into.mkdir()
    for word, rest in instructions:
        if word == "COPY":
            *sources, target = rest.split()
            for source in sources:
                copy = shutil.copytree if (ROOT / source).is_dir() else shutil.copy2
                copy(ROOT / source, into / target)
        elif word == "RUN":
            must(rest.startswith("cargo "), f"RUN {rest}: follow it here")
            subprocess.run(shlex.split(rest), cwd=into, check=True)


def assemble(instructions, into):
    """Follows the stage that runs, as far as files go; gives the program."""
    user, program = None, None
    for word, rest in instructions:
        if word == "COPY":
            flag, source, target = rest.split()
            must(flag == "--from=build", f"COPY {rest}: follow it here")
            program = into / Path(target).name
            shutil.copy2(Path(os.environ["CARGO_TARGET_DIR"]) / Path(source).relative_to("/src/target"), program)
        elif word == "USER":
            user = rest
    must(user and user != "root", "the program runs as root")
    must(program, "the image has no program")
    return program


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
    what, where = sys.argv[1:]
    service, database = read()
    if what == "build":
        build(stages(service)[0], Path(where))
        return
    must(database["healthcheck"]["test"][1] == "pg_isready", "the database's healthcheck is another: try it here")
    at = urlsplit(where)
    subprocess.run([*database["healthcheck"]["test"][1:], f"--host={at.hostname}", f"--port={at.port}"], check=True)
    name = f"thrumhall_compose_{os.getpid()}"
    with tempfile.TemporaryDirectory() as scratch:
        Path(scratch).chmod(0o755)
        program = assemble(stages(service)[1], Path(scratch))
        ask(where, f"CREATE DATABASE {name}")
        try:
            backups = Path(scratch) / "backups"
            backups.mkdir(mode=0o700)
            run(program, service, where.rsplit("/", 1)[0] + f"/{name}", backups)
        finally:
            ask(where, f"DROP DATABASE {name} WITH (FORCE)")
    print("read, assembled by hand, run as nobody, found well")


main()
