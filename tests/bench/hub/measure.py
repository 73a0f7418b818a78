"""The measurements of the hub trial; `trial.py` sets up what this needs and calls it."""

from __future__ import annotations

import asyncio
import contextlib
import json
import math
import os
import signal
import statistics
import subprocess
import sys
import time
from pathlib import Path

from accounts import Accounts
from hub import Hub
from learner import Learner

MOVES, DRAG = 20, 5.0  # single moves of each learner; s of dragging
MINUTES = 20  # for all of it, then it stops


def percentile(values, share):
    return sorted(values)[min(len(values) - 1, math.ceil(share * len(values)) - 1)]


def ms(values) -> tuple[float, float]:
    """Median and 95th percentile, ms."""
    return 1000 * statistics.median(values), 1000 * percentile(values, 0.95)


def load() -> float:
    return os.getloadavg()[0]


async def level(hub: Hub, count: int) -> dict:
    """`count` learners who are new here, all at the same moment."""
    names = hub.names(count)
    learners = [Learner(hub, name) for name in names]
    seen = {"learners": count, "load before": load()}
    try:
        before, start = hub.processor(), time.monotonic()
        await asyncio.gather(*(learner.arrive() for learner in learners))
        await asyncio.gather(*(learner.run_lesson() for learner in learners))
        seen["start wall"] = time.monotonic() - start
        seen["start processor"] = used(before, hub.processor())
        for what in learners[0].times:
            seen[what] = [learner.times[what] for learner in learners]
        await asyncio.sleep(2)
        seen["memory"] = hub.memory()
        await asyncio.gather(*(learner.commit() for learner in learners))
        await asyncio.gather(*(learner.hand_in() for learner in learners))
        moves = await asyncio.gather(*(learner.single_moves(MOVES) for learner in learners))
        seen["moves"] = [each for one in moves for each in one]
        await asyncio.sleep(1)
        before, own, start = hub.processor(), time.process_time(), time.monotonic()
        drags = await asyncio.gather(*(learner.drag(DRAG) for learner in learners))
        seen["drag wall"] = time.monotonic() - start
        seen["drag processor"] = used(before, hub.processor())
        seen["drag own"] = time.process_time() - own
        seen["lags"] = [lag for lags, _, _ in drags for lag in lags]
        seen["pictures"] = [len(lags) for lags, _, _ in drags]
        seen["picture kB"] = sum(size for _, size, _ in drags) / 1024 / sum(seen["pictures"])
        seen["landed"] = all(landed for _, _, landed in drags)
        await asyncio.sleep(1)
        seen["memory after"] = hub.memory()
        seen["load after"] = load()
    finally:
        await asyncio.gather(*(learner.leave() for learner in learners), return_exceptions=True)
    homes = [hub.home(name) for name in names]
    seen["handed in"] = sum(len([*home.glob("boxlab/lessons/results-*.json")]) for home in homes)
    seen["progress"] = [events(home) for home in homes]
    seen["disk MB"] = sum(f.stat().st_size for f in homes[0].rglob("*") if f.is_file()) / 2**20
    return seen


def used(before, after) -> dict[str, float]:
    return {kind: after[kind] - before.get(kind, 0) for kind in after}


def events(home: Path) -> int:
    """How many predictions the progress file of a home holds; 0 where there is none."""
    file = home / "boxlab" / "my-progress" / "progress.json"
    if not file.exists():
        return 0
    return sum(e["what"] == "prediction" for e in json.loads(file.read_text())["events"])


async def comes_back(hub: Hub, name: str) -> dict:
    """The same learner after the server was stopped: a second start, and what is still known."""
    learner = Learner(hub, name)
    try:
        await learner.arrive()
        await learner.run_lesson()
        return learner.times | {"committed": learner.committed()}
    finally:
        await learner.leave()


HEAD = (
    "learners", "load", "kernel ready, s", "lesson run, s", "PSS each", "RSS each",
    "move, ms", "drag lag, ms", "pictures/s each", "ms CPU/picture",
)  # fmt: skip


def row(seen: dict) -> tuple:
    count = seen["learners"]
    each = {
        which: sum(seen["memory"][kind][which] for kind in ("server", "kernel")) / count
        for which in ("pss", "rss")
    }
    rate = sum(seen["pictures"]) / count / seen["drag wall"]
    cost = 1000 * sum(seen["drag processor"].values()) / sum(seen["pictures"])

    def two(values, digits=0):
        return f"{values[0]:.{digits}f} / {values[1]:.{digits}f}"

    def spread(values):
        return two((statistics.median(values), max(values)), 1)

    return (
        str(count), f"{seen['load before']:.1f} > {seen['load after']:.1f}",
        spread(seen["login to kernel ready"]), spread(seen["lesson run"]),
        f"{each['pss']:.0f} MB", f"{each['rss']:.0f} MB", two(ms(seen["moves"])),
        two(ms(seen["lags"])), f"{rate:.1f}", f"{cost:.0f}",
    )  # fmt: skip


def details(seen: dict) -> None:
    """What the table leaves out."""
    count = seen["learners"]
    for when in ("memory", "memory after"):
        for kind, m in sorted(seen[when].items()):
            print(f"  {when:<13}{kind:<7} x{m['count']:<3.0f} PSS {m['pss']:7.0f} MB"
                  f"  RSS {m['rss']:7.0f} MB  private {m['private']:7.0f} MB")  # fmt: skip
    spent = ", ".join(f"{k} {v / count:.1f}" for k, v in seen["start processor"].items())
    print(f"  processor time of a start and the lesson, s for each learner: {spent};"
          f" all done after {seen['start wall']:.0f} s")  # fmt: skip
    spent = ", ".join(f"{k} {v:.2f}" for k, v in seen["drag processor"].items())
    print(f"  processor time of {seen['drag wall']:.1f} s of dragging, s: {spent};"
          f" the simulated learners themselves {seen['drag own']:.2f}")  # fmt: skip
    print(f"  a picture is {seen['picture kB']:.0f} kB; the last one landed: {seen['landed']};"
          f" home of one learner {seen['disk MB']:.1f} MB")  # fmt: skip
    print(f"  predictions kept in each learner's own file: {seen['progress']};"
          f" files handed in: {seen['handed in']}", flush=True)  # fmt: skip


def kept_apart(hub: Hub, one: str, other: str) -> None:
    """Who may come in and what one account sees of another. RuntimeError where it is too much."""
    stranger = hub.accounts.stranger
    for name, password, why in (
        (one, "wrong", "a wrong password"), (stranger, "", "an account not in the class"),
    ):  # fmt: skip
        learner = Learner(hub, name, password)
        if learner.admitted():
            raise RuntimeError(f"{why} is let in")
        print(f"  {why} is refused")
    for path in (hub.home(other), hub.home(other) / "boxlab/my-progress/progress.json"):
        looked = subprocess.run(
            ["runuser", "-u", one, "--", "/bin/ls", str(path)], capture_output=True, text=True
        )
        if looked.returncode == 0:
            raise RuntimeError(f"{one} can read {path}")
    print(f"  {one} cannot read what {other} has", flush=True)


def stop_early(hub: Hub) -> None:
    """On Ctrl-C, when told to end, or when time is up: stop the hub, then this program."""
    signals = signal.SIGINT, signal.SIGTERM, signal.SIGALRM

    def stop(number, _):
        for each in signals:
            signal.signal(each, signal.SIG_IGN)
        print(f"Stopping early: {signal.Signals(number).name}", flush=True)
        hub.stop()
        print(f"Stopped; processes left: {len(hub.processes())}", flush=True)
        os._exit(1)  # some thread may still be waiting for the hub

    for each in signals:
        signal.signal(each, stop)
    signal.alarm(60 * MINUTES)


def main(scratch: Path, counts: list[int], browser: bool, accounts: bool) -> int:
    print(f"{os.cpu_count()} cores, load {load():.1f}; loopback only", flush=True)
    with contextlib.ExitStack() as held:
        people = held.enter_context(Accounts(scratch, max(counts))) if accounts else None
        hub = held.enter_context(Hub(scratch, people))
        stop_early(hub)
        idle = hub.memory()
        print("hub without learners:",
              ", ".join(f"{k} {v['pss']:.0f} MB PSS" for k, v in sorted(idle.items())))  # fmt: skip
        table = []
        for count in counts:
            seen = asyncio.run(level(hub, count))
            table.append(row(seen))
            print(f"{count} at once, load {seen['load before']:.1f} before:")
            details(seen)
            hub.stop_servers()
        name = hub.names(counts[0])[0]
        if accounts:
            kept_apart(hub, name, hub.names(2)[1])
        again = asyncio.run(comes_back(hub, name))
        print(
            f"{name} again: kernel ready {again['login to kernel ready']:.1f} s,"
            f" lesson run {again['lesson run']:.1f} s;"
            f" prediction still there: {again['committed']}"
        )
        if browser:
            import page

            hub.stop_servers()
            page.report(hub, hub.names(max(counts))[-1] if accounts else "learner-browser")
        print(
            f"idle culler, limit 10 s: no server and no kernel left after {hub.cull(10):.0f} s",
            flush=True,
        )
    widths = [max(len(r[i]) for r in [HEAD, *table]) for i in range(len(HEAD))]
    for r in [HEAD, *table]:
        print("  ".join(text.rjust(width) for text, width in zip(r, widths, strict=True)))
    print("Two numbers: median / worst for starts, median / 95th percentile for moves and drags.")
    print(f"Stopped; processes left: {len(hub.processes())}; load {load():.1f}")
    return 0


if __name__ == "__main__":
    words = [word for word in sys.argv[2:] if not word.startswith("--")]
    sys.exit(
        main(
            Path(sys.argv[1]),
            [int(word) for word in words],
            *(f"--{word}" in sys.argv for word in ("browser", "accounts")),
        )
    )
