"""Fails where something that is used was taken back or warned of by those who publish it, as far as the registries tell:

- no version in Cargo.lock is yanked, by the index that cargo asks;
- nothing that the browser tests install is warned of by `npm audit`, where npm's registry answers that;
- nothing that the outside checks install is yanked, by the report of `pip install` (its path is the argument).

No registry carries the advisories for Rust (RustSec's are a repository of their own): see V15.2.1 in tests/security/asvs.md.
"""
import json
import os
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def crates():
    """Packing the program asks the index for each version of the lock file; nothing is built, and nothing is published."""
    with tempfile.TemporaryDirectory() as folder:
        command = ["cargo", "package", "--no-verify", "--allow-dirty", "--locked"]
        environment = {**os.environ, "CARGO_TARGET_DIR": folder}
        packed = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True)
        assert packed.returncode == 0, packed.stderr
        assert list(Path(folder).rglob("*.crate")), "nothing was packed, so nothing was asked"
    return re.findall(r"package `(.*?)` in Cargo.lock is yanked", packed.stderr)


def modules():
    """What npm warns of, or nothing where its registry doesn't say."""
    asked = subprocess.run(["npm", "audit", "--json"], cwd=ROOT / "tests/browser", capture_output=True, text=True)
    told = json.loads(asked.stdout or "{}")
    if "vulnerabilities" not in told:
        print("npm audit isn't answered here:", told.get("message", "no answer").split(" - ")[0])
        return []
    return sorted(told["vulnerabilities"])


def wheels(report):
    """What pip installed although it was taken back."""
    installed = json.loads(Path(report).read_text())["install"]
    assert installed, f"{report} names nothing that was installed"
    return [one["metadata"]["name"] for one in installed if one.get("is_yanked")]


def main():
    found = {"yanked crates": crates(), "npm audit": modules(), "yanked Python packages": wheels(sys.argv[1])}
    wrong = [f"{what}: {', '.join(names)}" for what, names in found.items() if names]
    if wrong:
        raise SystemExit("\n".join(wrong))
    print("no version in Cargo.lock is yanked, and none that pip installed")


main()
