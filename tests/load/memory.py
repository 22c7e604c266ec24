"""What the program keeps in memory after a thousand people signed in, and after as many hung up while they did.

    python tests/load/memory.py target/release/thrumhall --sign-ins 1000 --cancelled 2000

Starts the program on a fresh directory. One person signs in so often, with a passphrase that is hashed each time. Then clients from many
addresses, so that no limit keeps them out, post /sign-in and /setup/x and hang up without waiting for an answer, some in the middle of
what they send, forty at a time. Ends badly when the program holds more than 60 MB after one of them, has ever held more than 80, or
doesn't answer at once afterwards.
"""
import argparse
import concurrent.futures
import socket
import time
import urllib.parse

import service
from service import Browser, Served

MOST_MB = 60
# While passphrases are hashed, which takes 19 MB.
MOST_MB_EVER = 80
AT_ONCE = 40


def told(served, when):
    """Says what it holds, and ends badly where that is or was too much."""
    # Those who wait for their hash when the others hang up are still seen to.
    until = time.monotonic() + 5
    while served.resident() >= MOST_MB and time.monotonic() < until:
        time.sleep(0.1)
    now, most = served.resident(), served.resident("VmHWM")
    print(f"{when}: {now:.0f} MB resident, {most:.0f} MB at most")
    assert now < MOST_MB, f"more than {MOST_MB} MB resident"
    assert most < MOST_MB_EVER, f"more than {MOST_MB_EVER} MB resident for a moment"


def sign_ins(served, times):
    began = time.monotonic()
    for number in range(times):
        # Nobody's device is known, as when each comes for the first time.
        Browser(served, source(number)).sign_in(service.INSTRUCTOR).is_(303)
    told(served, f"{times} sign-ins in {time.monotonic() - began:.0f} s")


def source(number):
    """An address of this machine that few others come from."""
    return f"127.3.{number // 250 % 250}.{number % 250 + 1}"


def cancelled(served, number):
    """Posts one of the two forms and hangs up."""
    path = ["/sign-in", "/setup/x"][number % 2]
    fields = {"name": service.INSTRUCTOR, "passphrase": f"not this one, no {number}", "again": f"not this one, no {number}"}
    body = urllib.parse.urlencode(fields)
    head = f"POST {path} HTTP/1.1\r\nHost: loft.test\r\nSec-Fetch-Site: same-origin\r\nContent-Length: {len(body)}\r\n"
    sent = f"{head}Content-Type: application/x-www-form-urlencoded\r\n\r\n{body}".encode()
    with socket.create_connection((served.host, served.port), 10, (source(number), 0)) as connection:
        # Each fifth ends halfway; of the others some are hung up on while their passphrase is hashed.
        connection.sendall(sent[: len(sent) - 20] if number % 5 == 4 else sent)
        time.sleep(number % 4 * 0.01)


def flood(served, times):
    began = time.monotonic()
    with concurrent.futures.ThreadPoolExecutor(AT_ONCE) as crowd:
        for done in crowd.map(lambda number: cancelled(served, number), range(times)):
            assert done is None
    asked = time.monotonic()
    Browser(served).get("/healthz").is_(200)
    assert time.monotonic() - asked < 2, "/healthz took longer than 2 s"
    told(served, f"{times} hung up in {asked - began:.0f} s")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program")
    parser.add_argument("--sign-ins", type=int, default=1000)
    parser.add_argument("--cancelled", type=int, default=2000)
    asked = parser.parse_args()
    with service.fresh("sqlite") as place, Served(asked.program, place) as served:
        service.set_up(served)
        told(served, "set up")
        sign_ins(served, asked.sign_ins)
        flood(served, asked.cancelled)
        # The next gets in as before.
        Browser(served).sign_in(service.INSTRUCTOR).is_(303)
        served.stop()


if __name__ == "__main__":
    main()
