"""Holds every package of Cargo.lock to .cargo/deny.toml, by its licence and where it comes from; and each direct dependency
to the list in DEVELOPERS.md, and to being used."""
import json
import re
import subprocess
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def granted(expression, allowed):
    """Whether an SPDX expression can be met by allowed licences; the old slash means OR. AND binds tighter than OR."""
    expression = expression.replace("/", " OR ").strip()
    for word, enough in (("OR", any), ("AND", all)):
        parts = re.split(rf"\s+{word}\s+(?![^()]*\))", expression)
        if len(parts) > 1:
            return enough(granted(part, allowed) for part in parts)
    if expression.startswith("("):
        return granted(expression.strip("()"), allowed)
    return expression in allowed


def used(name, rooms):
    """Whether a path of the crate stands anywhere in the sources of these rooms."""
    path = re.compile(rf"\b{name.replace('-', '_')}(?:::|;)")
    return any(path.search(file.read_text()) for room in rooms for file in (ROOT / room).rglob("*.rs"))


def main():
    rules = tomllib.loads((ROOT / ".cargo/deny.toml").read_text())["licenses"]
    lone = {rule["crate"]: set(rule["allow"]) for rule in rules["exceptions"]}
    command = ["cargo", "metadata", "--format-version", "1", "--locked"]
    packages = json.loads(subprocess.run(command, cwd=ROOT, check=True, capture_output=True).stdout)["packages"]
    wrong = []
    for package in packages:
        source = package["source"] or "our own"
        if source != "our own" and not (source.startswith("registry+") and source.endswith("/crates.io-index")):
            wrong.append(f"{package['name']} comes from {source}")
        if not granted(package["license"] or "none", set(rules["allow"]) | lone.get(package["name"], set())):
            wrong.append(f"{package['name']} is under {package['license']}")
    tree = subprocess.run(
        ["cargo", "tree", "--edges", "normal", "--prefix", "none", "--format", "{p}"],
        cwd=ROOT, check=True, capture_output=True, text=True,
    ).stdout
    shipped = {line.split()[0] for line in tree.splitlines() if line}
    wrong += [f"{name} is meant for tests alone and is part of the program" for name in lone if name in shipped]
    manifest = tomllib.loads((ROOT / "Cargo.toml").read_text())
    ours, theirs, built = manifest["dependencies"], manifest["dev-dependencies"], manifest["build-dependencies"]
    direct = set(ours) | set(theirs) | set(built)
    script = (ROOT / "build.rs").read_text()
    wrong += [f"{name} isn't used in build.rs" for name in built if f"{name.replace('-', '_')}::" not in script]
    wrong += [f"{name} is used nowhere in src/" for name in ours if not used(name, ["src"])]
    wrong += [f"{name} is used nowhere in tests" for name in theirs if not used(name, ["src", "tests", "benches"])]
    chapter = (ROOT / "DEVELOPERS.md").read_text().split("\n## Dependencies\n")[1].split("\n## ")[0]
    named = set(re.findall(r"`([\w-]+)`", chapter))
    wrong += [f"DEVELOPERS.md doesn't say why {name} is there" for name in sorted(direct - named)]
    if wrong:
        raise SystemExit("\n".join(wrong))
    print(f"{len(packages)} packages, each under a licence of .cargo/deny.toml and from crates.io")


main()
