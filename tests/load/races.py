"""Two people, or one who presses twice, do at the same moment what only one of them may.

    python tests/load/races.py target/release/thrumhall --rounds 200 --database sqlite
    python tests/load/races.py target/release/thrumhall --rounds 200 --database postgres://postgres@127.0.0.1:5432/test

On PostgreSQL two copies of the program serve, and each of the two people is at another one; on SQLite one copy serves both. Each race is
run so often; after each round its pages must say that one was done and the other was not, neither program may answer that it is at
fault, and every tenth round and in the end `check` must be clean.
"""
import argparse
import contextlib
import re
import time

import service
from service import Browser, Served, at_once, key

# How many wrong passphrases one name from one address may try; see Limits in DEVELOPERS.md.
MOST_TRIES = 5


class Workroom:
    """The copies of the program, and an instructor at each."""

    def __init__(self, begin, number_of):
        self.copies, self.taken, self.lent = [begin()], None, 0
        # Before another begins, which has a link of its own for it.
        self.one = service.set_up(self.copies[0])
        self.copies += [begin() for _ in range(1, number_of)]
        _, other = service.person(self.one, "instructor", "Ilka Probe")
        self.other = other.at(self.copies[-1])
        self.frames = [service.frame(self.one, tag) for tag in ("S1", "S2")]
        self.weaver, _ = service.weaver(self.one, "Wanda Probe")
        self.rugs = [service.rug(self.one, self.weaver, name) for name in ("Tide", "Ebb")]

    def weigh_in(self, grams, who=None, **more):
        """Weighs cloth in that every part of a rug may be made of, and gives the bundle's address."""
        fields = {"kind": "percale", "colour": "cream", "weight": f"{grams} g", "washed": "yes", **more}
        return "/cloth/" + (who or self.one).send("/cloth/weigh-in", fields).is_(303).id()

    def scrap(self, bundle):
        """Makes an end of a bundle and of what is promised, so that the next round begins as this one did."""
        for promise in self.promises():
            self.one.send(f"/promises/{promise}/release", {}).is_(303)
        self.one.post(f"{bundle}/scrap", scrap_all="yes").is_(303)

    def promises(self):
        """The promises that wait to be pulled, as they stand on the pull sheet."""
        return re.findall(r"/promises/([0-9a-f-]{36})\">By itself", self.one.get("/pull").is_(200).text)

    def proposal(self, rug):
        """Has cloth found for a rug, whatever its colour, and gives the address of what was found."""
        to = self.one.post("/share-out", rug=rug, most="1", seconds="1", most_off="200").is_(303).to
        until = time.monotonic() + 60
        while "Refresh" in self.one.get(to).is_(200).headers:
            assert time.monotonic() < until, "no cloth was found within a minute"
            time.sleep(0.01)
        return to.split("?")[0]

    def takes(self):
        """What a rug takes, in grams, by the pull sheet; asked once."""
        if self.taken is None:
            bundle = self.weigh_in(9000)
            self.one.send(f"{self.proposal(self.rugs[0])}/accept", {}).is_(303)
            found = re.findall(r"<strong>([\d.,]+)\s(k?)g</strong>", self.one.get("/pull").is_(200).text)
            self.taken = sum(float(number.replace(",", "")) * (1000 if kilo else 1) for number, kilo in found)
            assert 300 < self.taken < 4500, found
            self.scrap(bundle)
        return self.taken

    def balance(self, bundle):
        """What a bundle holds by the table of cloth, in grams."""
        tag = re.search(r"<h1[^>]*>\D*(\d+)", self.one.get(bundle).is_(200).text)[1]
        found = [row for row in self.one.table("/cloth.csv") if row["tag"] == tag]
        return float(found[0]["balance_g"])

    def both(self, path, fields, other=None):
        """Both send a form, each with a key of their own unless it names one; what each was answered."""
        there = other or (path, fields)
        return at_once(lambda: self.one.send(path, fields), lambda: self.other.send(*there))


def one_of(answers, *lost):
    """One was done; the other was refused, by one of these statuses."""
    statuses = sorted(answer.status for answer in answers)
    assert statuses[0] == 303 and statuses[1] in lost, (statuses, [answer.text[-600:] for answer in answers])
    return next(answer for answer in answers if answer.status == 303)


def same_proposal(room, _):
    """Two accept the same proposal: it is accepted once, and what it promises stands once on the pull sheet."""
    bundle = room.weigh_in(9000)
    proposal = room.proposal(room.rugs[0])
    one_of(room.both(f"{proposal}/accept", {}), 409)
    standing = room.promises()
    # The warp's and one colour's: the other touches it, so that the same cloth can't be both.
    assert len(standing) == len(set(standing)) == 2, standing
    room.scrap(bundle)


def cloth_for_one(room, _):
    """Two accept proposals for two rugs that want the same cloth, which is enough for one: one of them has it."""
    bundle = room.weigh_in(9000)
    # Half as much again as one rug takes: enough for one and not for two.
    room.one.post(f"{bundle}/count", count_weight=f"{room.takes() * 1.5:.0f} g").is_(303)
    first, second = (room.proposal(rug) for rug in room.rugs)
    one_of(room.both(f"{first}/accept", {}, (f"{second}/accept", {})), 409)
    sheet = room.one.get("/pull").is_(200).text
    assert ("Tide" in sheet) != ("Ebb" in sheet), "cloth for one rug is promised to two"
    room.scrap(bundle)


def one_frame(room, number):
    """Two hand one frame out, for two rugs: one has it. Then both take it back: it comes back once."""
    frame, (first, second) = room.frames[0], room.rugs
    path = f"/frames/{frame}/hand-out"
    lent = one_of(room.both(path, service.loan(frame, first), (path, service.loan(frame, second))), 409, 422)
    loans = room.one.table("/loans.csv")
    assert len([row for row in loans if not row["taken back"]]) == 1, loans[:3]
    room.lent += 1
    assert len(loans) == room.lent, "handed out twice"
    ends = room.both(f"/loans/{lent.id()}/take-back", service.RETURN)
    assert sorted(end.is_(303).to.rsplit("said=")[-1] for end in ends) == ["repeated", "taken-back"], ends
    assert all(row["taken back"] for row in room.one.table("/loans.csv"))


def one_rug(room, number):
    """Two hand two frames out for one rug: it is on one of them."""
    first, second = room.frames
    rug = room.rugs[number % 2]
    there = (f"/frames/{second}/hand-out", service.loan(second, rug))
    lent = one_of(room.both(f"/frames/{first}/hand-out", service.loan(first, rug), there), 409, 422)
    assert len([row for row in room.one.table("/loans.csv") if not row["taken back"]]) == 1
    room.one.send(f"/loans/{lent.id()}/take-back", service.RETURN).is_(303)
    room.lent += 1


def one_promise(room, _):
    """Two pull one promise: it is pulled once, and the bundle is that much lighter. Its rest comes back once, too."""
    bundle = room.weigh_in(9000)
    # A rug of its own: what was pulled for one isn't wanted for it again.
    rug = service.rug(room.one, room.weaver, "Flood")
    room.one.send(f"{room.proposal(rug)}/accept", {}).is_(303)
    promise = room.promises()[-1]
    one_of(room.both(f"/promises/{promise}/pull", {"pull_weight": "200 g"}), 409, 422)
    assert room.balance(bundle) == 8800, "pulled twice"
    one_of(room.both(f"/promises/{promise}/back", {"back_weight": "40 g"}), 409, 422)
    assert room.balance(bundle) == 8840, "back twice"
    room.one.post(f"/rugs/{rug}/state", state="given up").is_(303)
    room.scrap(bundle)


def each_other(room, number):
    """Two instructors take each other off: one stays."""
    people = [service.person(room.one, "instructor", f"{name} {number}") for name in ("Ida", "Iris")]
    (ida, first), (iris, second) = people
    second = second.at(room.copies[-1])
    acts = at_once(lambda: first.send(f"/people/{iris}/leave", {}), lambda: second.send(f"/people/{ida}/leave", {}))
    one_of(acts, 401, 409)
    here = sorted(browser.get("/people").status for browser in (first, second))
    assert here == [200, 303], here
    # Who is left goes too, so that the next round begins as this one did.
    stays = ida if first.get("/people").status == 200 else iris
    room.one.send(f"/people/{stays}/leave", {}).is_(303)


def guesses(room, number):
    """Twenty guesses at one passphrase from one address at once: no more are tried than one after the other."""
    source = f"127.1.{number // 200}.{number % 200 + 1}"

    def guess(which):
        stranger = Browser(room.copies[which % len(room.copies)], source)
        return stranger.sign_in("Ilka Probe", "no word of a gull").is_(422, 429, 503).status

    statuses = at_once(*[lambda which=which: guess(which) for which in range(20)])
    tried = statuses.count(422)
    assert 1 <= tried <= MOST_TRIES, statuses
    # The door is closed at each copy, for that address alone: the person herself gets in.
    late = Browser(room.copies[-1], source).sign_in("Ilka Probe")
    assert tried < MOST_TRIES or late.status == 429, late.status
    Browser(room.copies[0], "127.2.0.1").sign_in("Ilka Probe").is_(303)


def one_key(room, number):
    """One form is sent twice at the same moment: it acts once, and both are led to the same place."""
    note = f"once {number}"
    fields = {"key": key(), "kind": "denim", "colour": "navy", "weight": "500 g", "washed": "yes", "note": note}
    # The same person at both copies, as a proxy may part two that one browser sends.
    acts = at_once(*[lambda me=room.one.at(copy): me.send("/cloth/weigh-in", fields) for copy in (room.copies[0], room.copies[-1])])
    first, second = (answer.is_(303) for answer in acts)
    assert first.to == second.to, (first.to, second.to)
    assert len([row for row in room.one.table("/cloth.csv") if row["note"] == note]) == 1
    bundle = f"/cloth/{first.id()}"
    pull = {"key": key(), "pull_weight": "200 g"}
    for answer in room.both(f"{bundle}/pull", pull):
        # Somebody else's form with the same key isn't the same form: it is refused, or leads to the same place.
        answer.is_(303, 409, 422)
    assert room.balance(bundle) == 300, "pulled twice"
    room.scrap(bundle)


def two_bundles(room, number):
    """Two weigh in at the same moment: two bundles, with numbers of their own."""
    note = f"two {number}"
    at_once(lambda: room.weigh_in(500, note=note), lambda: room.weigh_in(700, room.other, note=note))
    cloth = room.one.table("/cloth.csv")
    both = [row for row in cloth if row["note"] == note]
    assert sorted(float(row["balance_g"]) for row in both) == [500, 700], both
    assert len({row["tag"] for row in cloth}) == len(cloth), "a number was given twice"


def one_undoing(room, _):
    """Two undo one entry of a bundle: it is undone once."""
    bundle = room.weigh_in(500)
    room.one.post(f"{bundle}/pull", pull_weight="200 g").is_(303)
    entry = re.findall(r'name="entry" value="([0-9a-f-]{36})"', room.one.get(bundle).is_(200).text)[-1]
    one_of(room.both(f"{bundle}/undo", {"entry": entry}), 409)
    assert room.balance(bundle) == 500, "undone twice"
    room.scrap(bundle)


def last_of_it(room, _):
    """Two pull what a bundle holds once: one has it, and no bundle holds less than nothing."""
    bundle = room.weigh_in(500)
    one_of(room.both(f"{bundle}/pull", {"pull_weight": "400 g"}), 409, 422)
    assert room.balance(bundle) == 100
    room.scrap(bundle)


def two_editors(room, number):
    """Two save one person's page: the second is told, and nothing is lost."""
    path = f"/people/{room.weaver}"
    revision = re.search(r'name="revision" value="(\d+)"', room.one.get(path).is_(200).text)[1]
    form = {"revision": revision, "name": "Wanda Probe", "units": ""}
    answers = room.both(path, {**form, "contact": f"one {number}"}, (path, {**form, "contact": f"other {number}"}))
    one_of(answers, 409)
    won = "one" if answers[0].status == 303 else "other"
    assert f"{won} {number}" in room.one.get(path).is_(200).text, "what was saved isn't kept"


RACES = [
    same_proposal, cloth_for_one, one_frame, one_rug, one_promise, each_other, guesses, one_key, two_bundles, one_undoing,
    last_of_it, two_editors,
]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program")
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--database", default="sqlite", help="sqlite, or the address of a PostgreSQL database")
    parser.add_argument("--only", choices=[race.__name__ for race in RACES])
    asked = parser.parse_args()
    number_of = 1 if asked.database == "sqlite" else 2
    with service.fresh(asked.database) as place, contextlib.ExitStack() as stack:
        room = Workroom(lambda: stack.enter_context(Served(asked.program, place)), number_of)
        for race in RACES:
            if asked.only not in (None, race.__name__):
                continue
            began = time.monotonic()
            for number in range(asked.rounds):
                try:
                    race(room, number)
                except AssertionError as fault:
                    raise SystemExit(f"{race.__name__}, round {number}: {fault}") from fault
                if number % 10 == 9:
                    service.check(asked.program, place)
            print(f"{race.__name__}: {asked.rounds} rounds in {time.monotonic() - began:.0f} s")
        service.check(asked.program, place)
        for copy in room.copies:
            copy.stop()
    print(f"check is clean, with {number_of} {'copy' if number_of == 1 else 'copies'}")


if __name__ == "__main__":
    main()
