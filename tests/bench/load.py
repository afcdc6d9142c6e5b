"""How much a scan and a record cost, against a bare view and a bare insert on one server.

    python -m tests.bench.load            # SQLite in a folder of its own
    DATABASE_URL=postgresql://... python -m tests.bench.load
    THREADS=1 python -m tests.bench.load  # other than the four a process of shop/run

Starts the production server as ``shop/run`` does, on this machine's loopback address, fills it with
instruments, and prints server CPU and times as ratios. It asserts nothing: a machine that
is busy with other things gives other figures.
"""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
import tempfile
import time
import uuid
from collections.abc import AsyncIterator, Callable, Iterator, Sequence
from contextlib import asynccontextmanager, contextmanager
from dataclasses import dataclass
from datetime import timedelta
from http.cookies import SimpleCookie
from pathlib import Path
from statistics import median
from urllib.parse import urlencode

ROOT = Path(__file__).resolve().parents[2]
HOST, PORT = "127.0.0.1", 8791
INSTRUMENTS = 4000
STEPS = ("N10", "N20", "N30")
ROUNDS = 3
CLIENTS = 8
MANY = 32


@dataclass(frozen=True)
class Ask:
    """One request: bytes to send."""

    raw: bytes

    @classmethod
    def get(cls, path: str, cookie: str = "") -> Ask:
        return cls(_head("GET", path, cookie).encode() + b"\r\n")

    @classmethod
    def post(cls, path: str, fields: dict[str, str], cookie: str = "", extra: str = "") -> Ask:
        body = urlencode(fields).encode()
        head = _head("POST", path, cookie) + extra
        head += (
            f"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {len(body)}\r\n"
        )
        return cls(head.encode() + b"\r\n" + body)


def _head(method: str, path: str, cookie: str) -> str:
    said = f"Cookie: {cookie}\r\n" if cookie else ""
    return f"{method} {path} HTTP/1.1\r\nHost: {HOST}:{PORT}\r\n{said}"


@dataclass(frozen=True)
class Told:
    """What a run of requests cost."""

    count: int
    cpu_us: float
    p50_ms: float
    p99_ms: float
    per_s: float
    wrong: int


class Line:
    """One kept connection that speaks just enough HTTP."""

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self.reader, self.writer = reader, writer

    async def send(self, ask: Ask) -> tuple[int, str, bytes]:
        self.writer.write(ask.raw)
        head = (await self.reader.readuntil(b"\r\n\r\n")).decode("latin-1")
        length = next(
            int(line.split(":")[1])
            for line in head.split("\r\n")
            if line.lower().startswith("content-length:")
        )
        return int(head.split(" ", 2)[1]), head, await self.reader.readexactly(length)


@asynccontextmanager
async def connected() -> AsyncIterator[Line]:
    reader, writer = await asyncio.open_connection(HOST, PORT)
    try:
        yield Line(reader, writer)
    finally:
        writer.close()
        await writer.wait_closed()


async def _run(asks: Sequence[Ask], clients: int, right: Callable[[int, bytes], bool]) -> Told:
    waiting = iter(asks)
    times: list[float] = []
    wrong = 0

    async def client() -> None:
        nonlocal wrong
        async with connected() as line:
            for ask in waiting:
                start = time.perf_counter()
                status, _, body = await line.send(ask)
                times.append((time.perf_counter() - start) * 1000)
                wrong += not right(status, body)

    before, start = server_cpu_s(), time.perf_counter()
    await asyncio.gather(*(client() for _ in range(clients)))
    wall = time.perf_counter() - start
    cpu = server_cpu_s() - before
    times.sort()
    return Told(
        len(times), cpu / len(times) * 1e6, median(times), times[int(len(times) * 0.99)],
        len(times) / wall, wrong,
    )  # fmt: skip


def run(asks: Sequence[Ask], clients: int, right: Callable[[int, bytes], bool]) -> Told:
    return asyncio.run(_run(asks, clients, right))


# --- the server ---

_server: subprocess.Popen[bytes] | None = None


def server_cpu_s() -> float:
    """CPU seconds the server's processes have used so far."""
    assert _server is not None
    tick = os.sysconf("SC_CLK_TCK")
    total = 0
    for pid in [_server.pid, *_children(_server.pid)]:
        fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
        total += int(fields[11]) + int(fields[12])
    return total / tick


def _children(pid: int) -> list[int]:
    found = []
    for task in Path(f"/proc/{pid}/task").iterdir():
        for child in (task / "children").read_text().split():
            found += [int(child), *_children(int(child))]
    return found


@contextmanager
def served() -> Iterator[None]:
    global _server
    _server = subprocess.Popen(
        [
            *(sys.executable, "-m", "granian", "--interface", "wsgi", "shop.wsgi:application"),
            *("--host", HOST, "--port", str(PORT), "--workers", "2", "--no-ws"),
            *("--blocking-threads", os.environ.get("THREADS", "4")),
            *("--blocking-threads-idle-timeout", "600"),
        ],
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        asyncio.run(_until_up())
        yield
    finally:
        _server.terminate()
        _server.wait(10)


async def _until_up() -> None:
    for _ in range(100):
        try:
            async with connected():
                return
        except OSError:
            await asyncio.sleep(0.1)
    raise SystemExit("The server does not answer.")


# --- the shop ---


def furnish() -> tuple[list[str], list[int], int]:
    """A shop with many instruments at their first operation: tags, numbers, a badge."""
    from django.core.management import call_command
    from django.utils import timezone

    from shop.catalogue import book
    from shop.catalogue.models import Spec
    from shop.floor.demo import loading
    from shop.floor.models import Body, Instrument, Neck, Tag
    from shop.people.models import Badge
    from shop.stock.models import Tray

    call_command("migrate", verbosity=0)
    call_command("collectstatic", interactive=False, verbosity=0)
    loading.load(timezone.now())
    revisions = book.open_revisions()
    now, today = timezone.now(), timezone.localdate()
    rested = now - timedelta(days=4)
    spec = dict(Spec.objects.values_list("key", "pk"))
    which = [revisions[place % len(revisions)] for place in range(INSTRUMENTS)]
    bodies = Body.objects.bulk_create(
        Body(serial=f"Q-{20000 + n}", spec_id=spec[r["spec__key"]], arrived_at=rested)
        for n, r in enumerate(which)
    )
    necks = Neck.objects.bulk_create(
        Neck(serial=f"K-{20000 + n}", spec_id=spec[r["spec__key"]], arrived_at=rested)
        for n, r in enumerate(which)
    )
    trays = Tray.objects.bulk_create(
        Tray(code=f"T{n:06d}", serial=body.serial, revision_id=r["id"], wanted_on=today)
        for n, (body, r) in enumerate(zip(bodies, which, strict=True))
    )
    made = Instrument.objects.bulk_create(
        Instrument(
            body=body,
            neck=neck,
            revision_id=r["id"],
            due_on=today,
            release_on=today,
            tray=tray,
            # What the first steps measure was measured before: the record alone is timed.
            gauged=[["peghead", place, "14.5"] for place in ("tip", "middle", "nut")],
        )
        for body, neck, r, tray in zip(bodies, necks, which, trays, strict=True)
    )
    tags = Tag.objects.bulk_create(
        Tag(code=f"B{n:06d}", body=body, made_at=now) for n, body in enumerate(bodies)
    )
    return (
        [tag.code for tag in tags],
        [one.pk for one in made],
        Badge.objects.get(code="P-11").pk,
    )


async def _sign_in() -> tuple[str, str]:
    """The cookies of badge P-11 and its form token."""
    async with connected() as line:
        _, head, _ = await line.send(Ask.get("/sign-in/"))
        token = _cookies(head)["csrftoken"]
        fields = {"badge": "P-11", "pin": "1111", "csrfmiddlewaretoken": token}
        status, head, _ = await line.send(Ask.post("/sign-in/", fields, f"csrftoken={token}"))
        assert status == 302, status
        jar = _cookies(head)
        return f"csrftoken={jar['csrftoken']}; sessionid={jar['sessionid']}", jar["csrftoken"]


def _cookies(head: str) -> dict[str, str]:
    jar: SimpleCookie = SimpleCookie()
    for line in head.split("\r\n"):
        if line.lower().startswith("set-cookie:"):
            jar.load(line.split(":", 1)[1].strip())
    return {name: one.value for name, one in jar.items()}


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        os.environ["HEELCAP_DATA"] = folder
        os.environ["HEELCAP_ADDRESS"] = f"http://{HOST}:{PORT}"
        os.environ["DJANGO_SETTINGS_MODULE"] = "tests.bench.settings"
        import django

        django.setup()
        codes, numbers, badge = furnish()
        with served():
            measure(codes, numbers, badge)


def measure(codes: Sequence[str], numbers: Sequence[int], badge: int) -> None:
    cookie, token = asyncio.run(_sign_in())
    records = [
        Ask.post(
            f"/{code}/record/",
            {"key": str(uuid.uuid4()), "operation": step},
            cookie,
            f"X-CSRFToken: {token}\r\nHX-Request: true\r\n",
        )
        for step in STEPS
        for code in codes
    ]
    inserts = (Ask.post(f"/bare/insert/{badge}/", {"key": str(uuid.uuid4())}) for _ in iter(int, 1))
    looks = [Ask.get(f"/bare/{number}/") for number in numbers]
    scans = [Ask.get(f"/{code}", cookie) for code in codes]
    fine = {
        "bare view": lambda status, body: status == 200 and b"<p>" in body,
        "scan": lambda status, body: status == 200 and b"Kit of" in body,
        "bare insert": lambda status, body: status == 200 and b"Done" in body,
        "record": lambda status, body: status == 200 and b"Recorded" in body,
    }
    run(looks[:300], 2, fine["bare view"])
    run(scans[:300], 2, fine["scan"])
    told: dict[str, list[Told]] = {name: [] for name in fine}
    for turn in range(ROUNDS):
        told["bare view"].append(run(looks[:1500], CLIENTS, fine["bare view"]))
        told["scan"].append(run(scans[:1500], CLIENTS, fine["scan"]))
        told["bare insert"].append(
            run([next(inserts) for _ in range(1000)], CLIENTS, fine["bare insert"])
        )
        told["record"].append(
            run(records[turn * 1000 : (turn + 1) * 1000], CLIENTS, fine["record"])
        )
    print(f"{CLIENTS} clients, {ROUNDS} rounds in turn, medians; server CPU in microseconds")
    for name, runs in told.items():
        say(name, runs)
    compare("scan", told["scan"], "bare view", told["bare view"], at_most=3)
    compare("record", told["record"], "bare insert", told["bare insert"], at_most=4)
    many = [
        run(records[start : start + 2000], MANY, fine["record"])
        for start in range(ROUNDS * 1000, ROUNDS * 1000 + 6000, 2000)
    ]
    print(f"\n{MANY} clients writing:")
    say("record", many)
    print("  bar: p99 under 100 ms and no wrong answer")


def say(name: str, runs: Sequence[Told]) -> None:
    print(
        f"  {name:12} cpu {median(one.cpu_us for one in runs):6.0f}"
        f"  p50 {median(one.p50_ms for one in runs):6.1f} ms"
        f"  p99 {median(one.p99_ms for one in runs):6.1f} ms"
        f"  {median(one.per_s for one in runs):6.0f}/s"
        f"  wrong answers {sum(one.wrong for one in runs)} of {sum(one.count for one in runs)}"
    )


def compare(
    name: str, runs: Sequence[Told], floor_name: str, floor: Sequence[Told], at_most: int
) -> None:
    cpu = median(a.cpu_us / b.cpu_us for a, b in zip(runs, floor, strict=True))
    middle = median(a.p50_ms / b.p50_ms for a, b in zip(runs, floor, strict=True))
    tail = median(a.p99_ms / b.p99_ms for a, b in zip(runs, floor, strict=True))
    print(
        f"  {name} / {floor_name}: cpu {cpu:.2f}  p50 {middle:.2f}  p99 {tail:.2f}"
        f"  (bar: {at_most})"
    )


if __name__ == "__main__":
    main()
