"""Half-open connections by the thousand, while /healthz goes on answering.

    python tests/load/half_open.py target/release/thrumhall --connections 3000 --seconds 60

Starts the program on a fresh directory, opens so many connections that send nothing or half a head, opens new ones whenever some
are closed, and asks /healthz and /sign-in all the while, again where it is hung up on. Ends badly when one of them takes longer than
two seconds in all, or the program more than 60 MB.
"""
import argparse
import asyncio
import time

import service
from service import Served


async def ask(host, port, path):
    """How long it took, and how often it was hung up on meanwhile, as the others are."""
    began, again = time.monotonic(), 0
    while True:
        answer = b""
        try:
            reader, writer = await asyncio.open_connection(host, port)
            writer.write(f"GET {path} HTTP/1.1\r\nhost: loft.test\r\nconnection: close\r\n\r\n".encode())
            answer = await asyncio.wait_for(reader.read(), 10)
            writer.close()
        except ConnectionError:
            pass
        if answer or time.monotonic() - began > 10:
            assert answer.startswith(b"HTTP/1.1 200"), (path, answer[:80])
            return time.monotonic() - began, again
        again += 1


async def hang(host, port, number, until):
    while time.monotonic() < until:
        try:
            reader, writer = await asyncio.open_connection(host, port)
            if number % 2:
                writer.write(b"GET / HTTP/1.1\r\nhost: lo")
            await asyncio.wait_for(reader.read(1), max(until - time.monotonic(), 0.1))
            writer.close()
        except (OSError, asyncio.TimeoutError):
            pass
        await asyncio.sleep(0.5)


async def load(served, connections, seconds):
    host, port = served.host, served.port
    until = time.monotonic() + seconds
    hanging = [asyncio.create_task(hang(host, port, number, until)) for number in range(connections)]
    took = {"/healthz": [], "/sign-in": []}
    most = 0
    while time.monotonic() < until:
        for path, times in took.items():
            times.append(await ask(host, port, path))
        most = max(most, served.resident())
        await asyncio.sleep(0.2)
    for task in hanging:
        task.cancel()
    for path, times in took.items():
        again = sum(again for _, again in times)
        print(f"{path}: asked {len(times)} times, {max(times)[0] * 1000:.0f} ms at most, {again} times hung up on")
    print(f"{connections} connections for {seconds} s; {most:.0f} MB resident at most")
    assert max(max(times)[0] for times in took.values()) < 2, "an answer took longer than 2 s"
    assert most < 60, "more than 60 MB resident"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("program")
    parser.add_argument("--connections", type=int, default=2000)
    parser.add_argument("--seconds", type=int, default=20)
    asked = parser.parse_args()
    with service.fresh("sqlite") as place, Served(asked.program, place) as served:
        asyncio.run(load(served, asked.connections, asked.seconds))
        began = time.monotonic()
        served.stop()
        print(f"gone {time.monotonic() - began:.1f} s after it was told to stop")


if __name__ == "__main__":
    main()
