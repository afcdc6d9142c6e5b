"""What printing costs: 200 travellers stamped against laid out one by one, 1,000 in the
background, and what a scan takes meanwhile.

    python -m tests.bench.printing
    DATABASE_URL=postgresql://... python -m tests.bench.printing   # an empty database

Fills a database with instruments of the eight demo specs, and prints figures. It asserts
nothing: a machine that is busy with other things gives other figures.
"""

# ruff: noqa: T201 - it speaks to a terminal

from __future__ import annotations

import argparse
import asyncio
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from statistics import median
from typing import Any, Final

from tests.bench import load
from tests.bench.load import Ask

FEW: Final = 200
MANY: Final = 1000
SCANS: Final = 400  # in each look at the server
CLIENTS: Final = 2  # phones that scan meanwhile, one after another each


def main() -> None:
    asked = argparse.ArgumentParser()
    asked.add_argument("--few", type=int, default=FEW)
    asked.add_argument("--many", type=int, default=MANY)
    wanted = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["HEELCAP_DATA"] = folder
        os.environ["HEELCAP_ADDRESS"] = f"http://{load.HOST}:{load.PORT}"
        os.environ["HEELCAP_PRINT_WORKER"] = "apart"
        os.environ["DJANGO_SETTINGS_MODULE"] = "tests.bench.settings"
        import django

        django.setup()
        codes, _, _ = load.furnish()
        if wanted.few:
            drawn(wanted.few)
        with load.served():
            beside(codes, wanted.many)


def serials(count: int) -> list[str]:
    return [f"Q-{20000 + number}" for number in range(count)]


def drawn(count: int) -> None:
    """The same travellers laid out one by one, and stamped."""
    from django.utils import timezone

    from shop.paper import press

    names, now = serials(count), timezone.now()
    press.draw("traveller", names[:2], now)  # loads the fonts, reads the style sheets

    def one_by_one() -> None:
        for name in names:
            press.draw("traveller", [name], now, plain=True)

    print(f"{count} travellers over the eight specs:")
    alone = timed("laid out one by one", one_by_one)
    stamped = timed("stamped", lambda: press.draw("traveller", names, now))
    timed("stamped, on every processor", lambda: press.draw("traveller", names, now, many=True))
    print(f"  stamped takes {stamped / alone:.3f} of it (bar: 0.25)")
    some = names[: count // 4]
    timed(
        f"{len(some)} of them laid out by themselves, on every processor",
        lambda: press.draw("traveller", some, now, plain=True, many=True),
    )


def timed(what: str, do: Callable[[], Any]) -> float:
    start, worked = time.perf_counter(), time.process_time()
    do()
    took = time.perf_counter() - start
    print(f"  {what}: {took:.1f} s, {time.process_time() - worked:.1f} s of them here")
    return took


def beside(codes: Sequence[str], count: int) -> None:
    """So many travellers printed in the background, and how long a scan takes meanwhile."""
    cookie, _ = asyncio.run(load._sign_in())
    asks = [Ask.get(f"/{code}", cookie) for code in codes]

    def scans(turn: int) -> float:
        chosen = [asks[place % len(asks)] for place in range(turn * SCANS, (turn + 1) * SCANS)]
        return load.run(chosen, CLIENTS, lambda status, body: b"Kit of" in body).p50_ms

    scans(0)
    quiet = median(scans(turn) for turn in range(1, 6))
    job = asked_for(serials(count))
    worker = subprocess.Popen(
        [sys.executable, "manage.py", "print_worker"],
        cwd=load.ROOT,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    start, busy, most, turn = time.perf_counter(), [], 0, 6
    while worker.poll() is None:
        busy.append(scans(turn))
        most = max(most, memory_mb(worker.pid))
        turn += 1
    print(f"{count} travellers in the background:")
    print(f"  {time.perf_counter() - start:.0f} s, at most {most} MB, {became(job)}")
    print(f"  a scan meanwhile {median(busy):.2f} ms against {quiet:.2f} ms, "
          f"{median(busy) / quiet:.2f} times (bar: 1.5)")  # fmt: skip


def asked_for(names: Sequence[str]) -> int:
    import uuid

    from django.utils import timezone

    from shop.floor.door import Act
    from shop.paper import jobs
    from shop.paper.placing import Sheeting
    from shop.people.models import Badge

    lead = Badge.objects.get(code="P-01")
    act = Act(key=uuid.uuid4(), by_id=lead.pk, by=lead.code, at=timezone.now())
    on = Sheeting.on(None, "single", 0, "long")
    number: int = jobs.ask("traveller", names, on, None, act, again=False).pk
    return number


def became(number: int) -> str:
    from shop.paper.models import Job

    job = Job.objects.get(pk=number)
    return f"{job.state}, {job.sheets} pages, {len(job.refused)} refused"


def memory_mb(pid: int) -> int:
    """What a process and those it started hold in memory that no other shares, in MB."""
    return sum(_own_kb(one) for one in [pid, *_kin(pid)]) // 1024


def _kin(pid: int) -> list[int]:
    try:
        return load._children(pid)
    except OSError:
        return []  # it has just ended


def _own_kb(pid: int) -> int:
    try:
        told = Path(f"/proc/{pid}/smaps_rollup").read_text()
    except OSError:
        return 0  # likewise
    return sum(int(line.split()[1]) for line in told.splitlines() if line.startswith("Pss:"))


if __name__ == "__main__":
    main()
