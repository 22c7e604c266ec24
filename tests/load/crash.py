"""Kills the program again and again while people work with it, and looks whether all that was acknowledged is still there.

    python tests/load/crash.py target/release/thrumhall --times 100 --database sqlite
    python tests/load/crash.py target/release/thrumhall --times 100 --database postgres://postgres@127.0.0.1:5432/test

Starts the program on a database of its own. Volunteers weigh cloth in, pull it and put it back, instructors hand frames out and take
them back, weavers sign in by their links and log rows, and somebody signs in and out, all at once, until `kill -9` ends the program at
a moment of chance, some of them while it starts. `check` must be clean before it starts again. What nobody answered is sent once more as
a person would, with the same key, and must then be there exactly once. The tables that the program gives out must hold all of
that and nothing else. After each fifth kill a backup is made of what the crash left, restored elsewhere, checked, and asked for the same
tables; on SQLite another build of SQLite is asked whether the files are whole (`PRAGMA integrity_check`).
"""
import argparse
import random
import sqlite3
import subprocess
import tempfile
import threading
import time
from pathlib import Path

import service
from service import Browser, Served, key

EVERY = 5


class Client:
    """Somebody who works. `pending` is what was sent last and not answered."""

    def __init__(self, seed, me):
        self.chance, self.me = random.Random(seed), me
        self.pending, self.acknowledged, self.again, self.fault = None, 0, 0, None

    def act(self, path, fields, kept):
        self.pending = (path, {"key": key(), **fields}, kept)
        self.send()

    def send(self):
        path, fields, kept = self.pending
        answer = self.me.send(path, fields)
        # The program is gone, or couldn't say whether it was kept: it is sent again when it is back.
        if answer.status in (0, 503):
            return False
        answer.is_(303)
        self.pending = None
        self.acknowledged += 1
        kept(answer)
        return True

    def work(self, until):
        try:
            while not until.is_set():
                if self.pending is None:
                    self.step()
                elif not self.send():
                    time.sleep(0.01)
        except AssertionError as fault:
            self.fault = fault

    def settle(self, served):
        """Back after the program was: what nobody answered is sent again, until it is answered."""
        self.me = self.me.at(served)
        if self.pending is not None:
            self.again += 1
            assert self.send(), f"{self.pending[0]}: no answer"


class Scale(Client):
    """Weighs cloth in, pulls of it and puts back."""

    def __init__(self, seed, me, name):
        super().__init__(seed, me)
        self.name, self.bundles, self.number = name, {}, 0

    def step(self):
        if not self.bundles or self.chance.random() < 0.25:
            self.number += 1
            grams, note = self.chance.randint(300, 3000), f"{self.name} {self.number}"
            fields = {"kind": "percale", "colour": "navy", "weight": f"{grams} g", "washed": "yes", "note": note}

            def kept(answer):
                self.bundles[answer.id()] = [note, grams, 0]

            return self.act("/cloth/weigh-in", fields, kept)
        bundle = self.chance.choice(list(self.bundles)[-8:])
        _, balance, out = known = self.bundles[bundle]
        back = out > 0 and (balance < 2 or self.chance.random() < 0.4)
        grams = self.chance.randint(1, max(1, (out if back else balance) // 2))
        what, sign = ("put_back", 1) if back else ("pull", -1)

        def moved(_):
            known[1] += sign * grams
            known[2] -= sign * grams

        self.act(f"/cloth/{bundle}/{what.replace('_', '-')}", {f"{what}_weight": f"{grams} g"}, moved)


class Lender(Client):
    """Hands one frame out and takes it back, over and over."""

    def __init__(self, seed, me, frame, rug, weaver):
        super().__init__(seed, me)
        self.frame, self.rug, self.weaver = frame, rug, weaver
        self.out, self.loans = None, 0

    def step(self):
        if self.out is None:
            def lent(answer):
                self.out = answer.id()
                self.loans += 1

            return self.act(f"/frames/{self.frame}/hand-out", service.loan(self.frame, self.rug), lent)

        def back(answer):
            assert "taken-back" in answer.to or "repeated" in answer.to, answer.to
            self.out = None

        self.act(f"/loans/{self.out}/take-back", service.RETURN, back)


class Weaver(Client):
    """Writes down how far a rug is, and undoes nothing."""

    def __init__(self, seed, me, rug):
        super().__init__(seed, me)
        self.rug, self.rows = rug, []

    def step(self):
        rows = len(self.rows) % 120 + 1
        self.act(f"/rugs/{self.rug}/log", {"rows": str(rows)}, lambda _: self.rows.append(rows))


class Doors(Client):
    """Signs in and out; the session of an answered sign-in is good, that of an answered sign-out isn't."""

    def __init__(self, seed, me, name):
        super().__init__(seed, me)
        self.name, self.ended = name, []

    def step(self):
        if "thrumhall" in self.me.cookies:
            old = dict(self.me.cookies)
            self.act("/sign-out", {}, lambda _: self.ended.append(old))
        else:
            self.act("/sign-in", {"name": self.name, "passphrase": service.PASSPHRASE}, lambda _: None)

    def look(self):
        expected = 200 if "thrumhall" in self.me.cookies else 303
        self.me.get("/cloth").is_(expected)
        for cookies in self.ended[-2:]:
            old = Browser(self.me.served)
            old.cookies = dict(cookies)
            old.get("/cloth").is_(303)


def people(me, seed):
    """Those who work, with what they need."""
    clients = []
    for number in range(3):
        _, scale = service.person(me, "volunteer", f"Viggo {number}")
        clients.append(Scale(seed + number, scale, f"V{number}"))
    for number in range(2):
        weaver, link = service.weaver(me, f"Wanda {number}")
        hers = Browser(me.served)
        hers.post(link).is_(303)
        logged, lent = service.rug(me, weaver, "Tide"), service.rug(me, weaver, "Ebb")
        clients.append(Weaver(seed + 10 + number, hers, logged))
        _, lender = service.person(me, "instructor", f"Ilka {number}")
        clients.append(Lender(seed + 20 + number, lender, service.frame(me, f"S{number}"), lent, f"Wanda {number}"))
    _, door = service.person(me, "volunteer", "Vera")
    clients.append(Doors(seed + 30, door, "Vera"))
    return clients


def tables(me):
    """What the program gives out of all that was done."""
    return me.table("/cloth.csv"), me.table("/loans.csv"), me.table("/record.csv")


def compare(clients, given):
    """Everything that was acknowledged is there once, and nothing else is."""
    cloth, loans, record = given
    told = sorted((row["note"], float(row["balance_g"])) for row in cloth)
    known = sorted((note, float(grams)) for one in clients if isinstance(one, Scale) for note, grams, _ in one.bundles.values())
    assert told == known, sorted(set(told) ^ set(known))[:20]
    assert len({row["tag"] for row in cloth}) == len(cloth), "a number was given twice"
    for one in clients:
        if isinstance(one, Lender):
            theirs = [row for row in loans if row["weaver"] == one.weaver]
            still = [row for row in theirs if not row["taken back"]]
            assert len(theirs) == one.loans, (len(theirs), one.loans)
            assert len(still) == (one.out is not None), (still, one.out)
        elif isinstance(one, Weaver):
            lines = [row for row in record if row["which"] == one.rug and row["did"] == "logged"]
            assert len(lines) == len(one.rows), (len(lines), len(one.rows))
        elif isinstance(one, Doors):
            one.look()


def whole(place):
    """Asks another build of SQLite than the program's whether the file is whole."""
    if place[0] != "--data":
        return
    for file in Path(place[1]).glob("*.sqlite"):
        with sqlite3.connect(file) as database:
            told = database.execute("PRAGMA integrity_check").fetchall()
            broken = database.execute("PRAGMA foreign_key_check").fetchall()
        database.close()
        assert told == [("ok",)] and not broken, (file, told, broken)
        return
    raise AssertionError(f"no database in {place[1]}")


def in_the_backup(program, place, kind, me):
    """Backs up what the crash left, restores it elsewhere, and gives what a program says that serves on that."""
    with tempfile.TemporaryDirectory() as folder, service.fresh(kind) as other:
        file = Path(folder) / "after.zip"
        code, told = service.run(program, "backup", file, *place)
        assert code == 0, told
        code, told = service.run(program, "restore", file, *other)
        assert code == 0, told
        service.check(program, other)
        whole(other)
        with Served(program, other) as served:
            return tables(me.at(served))


def begun_and_killed(program, place, chance):
    """Kills it while it starts, before or after it is ready."""
    quiet = subprocess.DEVNULL
    process = subprocess.Popen([program, "serve", *place, "--listen", "127.0.0.1:0"], stdout=quiet, stderr=quiet)
    time.sleep(chance.uniform(0, 0.15))
    process.kill()
    process.wait()


def crash(program, kind, times, seed):
    chance = random.Random(seed)
    with service.fresh(kind) as place:
        served = Served(program, place)
        me = service.set_up(served)
        clients = people(me, seed)
        restored = 0
        for number in range(1, times + 1):
            over = threading.Event()
            workers = [threading.Thread(target=one.work, args=(over,), daemon=True) for one in clients]
            for worker in workers:
                worker.start()
            time.sleep(chance.uniform(0.02, 0.6))
            served.kill()
            over.set()
            for worker, one in zip(workers, clients):
                worker.join()
                assert one.fault is None, one.fault
            if number % 10 == 0:
                begun_and_killed(program, place, chance)
            copied = in_the_backup(program, place, kind, me) if number % EVERY == 0 or number == times else None
            restored += copied is not None
            service.check(program, place)
            whole(place)
            served = Served(program, place)
            me = me.at(served)
            assert copied in (None, tables(me)), "the backup holds something else"
            for one in clients:
                one.settle(served)
            compare(clients, tables(me))
        served.stop()
        service.check(program, place)
    done, again = sum(one.acknowledged for one in clients), sum(one.again for one in clients)
    print(f"{times} kills: {done} acknowledged changes all there, {again} of them sent again; {restored} backups restored")
    assert done >= 10 * times, "too little was done between the kills"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program")
    parser.add_argument("--times", type=int, default=20)
    parser.add_argument("--database", default="sqlite", help="sqlite, or the address of a PostgreSQL database")
    parser.add_argument("--seed", type=int, default=random.randrange(10**6), help="of the moments and of what people do")
    asked = parser.parse_args()
    print(f"seed {asked.seed}")
    crash(asked.program, asked.database, asked.times, asked.seed)


if __name__ == "__main__":
    main()
