"""A rolling upgrade: two versions of the program on one PostgreSQL database at once.

    python tests/load/rolling.py OLD NEW postgres://postgres@127.0.0.1:5432/test --rounds 40

OLD and NEW are two builds of the program, such as the last release and this one. In a database of its own, OLD sets a workroom up
and serves; NEW begins beside it, which brings the tables up to its version; people are added through both in turns, each form sent
twice; OLD is told to stop while it is asked. Every person that was acknowledged must be there once, neither program may answer that it
is at fault (500), and `check` of NEW must be clean.

Then NEW is the old one: while it serves, the tables become those of a version that there isn't yet, which has a column more in every
table, and a table more. It must go on as before, and refuse to begin anew on them. What it had prepared on a connection fits no more: it
may say so once for each of its connections, as a page that asks to send the form again, and then it must be done.
"""
import argparse
import contextlib
import re
import subprocess
import threading
import time

import service
from service import Browser, Served, key


def upgrade(old_program, new_program, place, rounds):
    with Served(old_program, place) as old, contextlib.ExitStack() as stack:
        me = service.set_up(old)
        # What old asked before stands prepared in its connections when the tables change.
        looks = ["/people", "/cloth", "/frames", "/share-out", "/rugs", "/today", "/terms", "/notices"]
        for path in looks:
            me.get(path)
        new = stack.enter_context(Served(new_program, place))
        acknowledged, faults, away = [], [], 0
        stopping = None
        for number in range(rounds):
            if number == rounds // 2:
                stopping = threading.Thread(target=old.stop)
                stopping.start()
            first, second = me.at(old), me.at(new)
            here = first if number % 2 == 0 else second
            for path in looks:
                status = here.get(path).status
                away += status in (0, 503)
                if status >= 500 and status != 503:
                    faults.append((path, status))
            name = f"Weaver {number}"
            fields = {"key": key(), "role": "weaver", "name": name, "contact": ""}
            # Sent again, to the other program: what is done already isn't done twice.
            answers = [browser.send("/people", fields).status for browser in (here, second)]
            faults += [("POST /people", status) for status in answers if status >= 500 and status != 503]
            if 303 in answers:
                acknowledged.append(name)
        stopping.join()
        time.sleep(0.1)
        page = me.at(new).get("/people").text
        counts = {name: len(re.findall(rf">\s*{name}\s*<", page)) for name in acknowledged}
        new.stop()
    print(f"{len(acknowledged)} of {rounds} acknowledged; {away} pages told to try again or not answered")
    assert not faults, faults
    assert len(acknowledged) == rounds, "something was refused by both"
    assert all(count == 1 for count in counts.values()), counts
    service.check(new_program, place)
    print("check is clean")


# Pages that ask most tables between them.
LOOKS = ["/people", "/cloth", "/frames", "/share-out", "/rugs", "/today", "/terms", "/notices", "/loans", "/rods", "/record", "/workroom"]


class Patient(Browser):
    """Somebody who does what the page says where it couldn't be done just now: sends it again as it was."""

    again = 0

    def at(self, served):
        other = Patient(served)
        other.cookies = dict(self.cookies)
        return other

    def ask(self, method, path, fields=None):
        answer = super().ask(method, path, fields)
        for _ in range(CONNECTIONS):
            if answer.status != 503:
                break
            Patient.again += 1
            answer = super().ask(method, path, fields)
        return answer


# So many connections a program keeps at most; see store/open.rs.
CONNECTIONS = 10


def act(me, number):
    """Something new in most tables, each part of which must be done."""
    weaver, link = service.weaver(me, f"Wanda {number}")
    Browser(me.served).post(link).is_(303)
    frame, rug = service.frame(me, f"S{number}"), service.rug(me, weaver, "Tide")
    lent = me.send(f"/frames/{frame}/hand-out", service.loan(frame, rug)).is_(303).id()
    me.post(f"/rugs/{rug}/log", rows="12").is_(303)
    me.send(f"/loans/{lent}/take-back", service.RETURN).is_(303)
    bundle = me.post("/cloth/weigh-in", kind="percale", colour="cream", weight="900 g", washed="yes").is_(303).id()
    me.post(f"/cloth/{bundle}/pull", pull_weight="200 g").is_(303)
    me.post("/rods", length=f"{36 + number} in", diameter="1/8 in", owned="8").is_(303)
    me.sign_in(service.INSTRUCTOR).is_(303)
    me.post("/terms", name=f"Ebb {number}", day="2099-01-01", starts="18:30", minutes="120", count="3", every="1").is_(303)
    return [f"/rugs/{rug}", f"/cloth/{bundle}", f"/loans/{lent}", f"/frames/{frame}", f"/people/{weaver}"]


def ahead(program, place):
    with Served(program, place) as served:
        me = Patient.at(service.set_up(served), served)
        before = act(me, 1)
        for path in LOOKS + before:
            me.get(path).is_(200)
        tables = [name for name in psql(place, "SELECT tablename FROM pg_tables WHERE schemaname = 'public'").split()]
        tables.remove("_sqlx_migrations")
        assert len(tables) > 20, tables
        more = [f"ALTER TABLE {name} ADD COLUMN added_later TEXT NOT NULL DEFAULT 'later'" for name in tables]
        more.append("CREATE TABLE later (id TEXT PRIMARY KEY, at BIGINT NOT NULL)")
        more.append(
            "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time)"
            " VALUES (9999, 'later', TRUE, '', 0)"
        )
        psql(place, "; ".join(more))
        for path in LOOKS + before + act(me, 2):
            me.get(path).is_(200)
        code, told = service.run(program, "serve", *place, "--listen", "127.0.0.1:0")
        assert code != 0 and "newer" in told, (code, told)
        served.stop()
    print(f"goes on with a column more in each of {len(tables)} tables, {Patient.again} times sent again, and doesn't begin on them anew")
    assert Patient.again <= 2 * CONNECTIONS, "a connection was no use twice"


def psql(place, statements):
    command = ["psql", "--no-psqlrc", "--quiet", "--tuples-only", "--no-align", "--set=ON_ERROR_STOP=1", place[1]]
    return subprocess.run([*command, "--command", statements], check=True, capture_output=True, text=True).stdout


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("old")
    parser.add_argument("new")
    parser.add_argument("server", help="the address of a PostgreSQL database; one of its own is made beside it")
    parser.add_argument("--rounds", type=int, default=40)
    asked = parser.parse_args()
    with service.fresh(asked.server) as place:
        upgrade(asked.old, asked.new, place, asked.rounds)
    with service.fresh(asked.server) as place:
        ahead(asked.new, place)


if __name__ == "__main__":
    main()
