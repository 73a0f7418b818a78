"""The trial's hub: started on loopback, looked at through /proc, stopped with all it started."""

from __future__ import annotations

import contextlib
import ctypes
import json
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import requests
from accounts import Accounts

HERE = Path(__file__).resolve().parent
TICK = os.sysconf("SC_CLK_TCK")


def free_ports(count: int) -> list[int]:
    with contextlib.ExitStack() as held:
        probes = [held.enter_context(socket.socket()) for _ in range(count)]
        for probe in probes:
            probe.bind(("127.0.0.1", 0))
        return [probe.getsockname()[1] for probe in probes]


def _end_with_parent() -> None:
    """Have the kernel tell this process to end when its parent is gone, however that went."""
    ctypes.CDLL(None).prctl(1, signal.SIGTERM)  # PR_SET_PDEATHSIG


class Hub:
    """Use as a context manager. Its processes carry a mark of their own in their environment."""

    def __init__(self, scratch: Path, accounts: Accounts | None = None):
        self.scratch, self.folder, self.accounts = scratch, scratch / "run", accounts
        self.mark, self.password = secrets.token_hex(16), secrets.token_hex(16)
        self._token, self._culler_token = secrets.token_hex(32), secrets.token_hex(32)
        self.port, self._hub_port, self._proxy_port = free_ports(3)
        self.base = f"http{'s' if accounts else ''}://127.0.0.1:{self.port}"
        self.trust = str(accounts.certificate) if accounts else True

    def __enter__(self) -> Hub:
        shutil.rmtree(self.folder, ignore_errors=True)
        self.folder.mkdir(parents=True)
        trial = {
            "scratch": str(self.scratch), "base": self.base, "hub_port": self._hub_port,
            "accounts": bool(self.accounts),
            "proxy_port": self._proxy_port, "mark": self.mark, "password": self.password,
            "token": self._token, "culler_token": self._culler_token,
        }  # fmt: skip
        environment = os.environ | {
            "BOXLAB_TRIAL": self.mark,
            "BOXLAB_TRIAL_HUB": json.dumps(trial),
            "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        }
        self._log = (self.folder / "hub.log").open("w")
        self._process = subprocess.Popen(
            [sys.executable, "-m", "jupyterhub", "-f", str(HERE / "local_config.py")],
            cwd=self.scratch if self.accounts else self.folder,
            env=environment, stdout=self._log, stderr=subprocess.STDOUT,
            start_new_session=True, preexec_fn=_end_with_parent,
        )  # fmt: skip
        until = time.monotonic() + 90
        while time.monotonic() < until:
            with contextlib.suppress(requests.RequestException):
                if requests.get(f"{self.base}/hub/api", timeout=2, verify=self.trust).ok:
                    return self
            if self._process.poll() is not None:
                break
            time.sleep(0.2)
        self.stop()
        raise RuntimeError(f"The hub did not start: {(self.folder / 'hub.log').read_text()}")

    def __exit__(self, *_) -> None:
        self.stop()

    def stop(self) -> None:
        """End the hub, and whatever it started that is still there after that."""
        if self._process.poll() is None:
            self._process.send_signal(signal.SIGTERM)  # it stops the servers and the proxy
            with contextlib.suppress(subprocess.TimeoutExpired):
                self._process.wait(30)
        for force in (signal.SIGTERM, signal.SIGKILL):
            for pid in self.processes():
                with contextlib.suppress(ProcessLookupError):
                    os.kill(pid, force)
            until = time.monotonic() + 5
            while self.processes() and time.monotonic() < until:
                time.sleep(0.1)
        self._process.wait(5)
        self._log.close()

    def password_of(self, name: str) -> str:
        return self.accounts.passwords[name] if self.accounts else self.password

    def home(self, name: str) -> Path:
        return self.accounts.home(name) if self.accounts else self.folder / "homes" / name

    def names(self, count: int) -> list[str]:
        """`count` learners who are new here."""
        kind = "trial" if self.accounts else f"learner-{count:02}"
        return [f"{kind}-{number:02}" for number in range(1, count + 1)]

    def ask(self, method: str, path: str, **options):
        """The hub's own interface, as its administrator."""
        answer = requests.request(
            method, f"{self.base}/hub/api/{path}", timeout=60, verify=self.trust,
            headers={"Authorization": f"token {self._token}"}, **options,
        )  # fmt: skip
        answer.raise_for_status()
        return answer.json() if answer.content else None

    def running(self) -> list[str]:
        """Names of the learners whose servers run."""
        return [user["name"] for user in self.ask("GET", "users") if user["server"]]

    def stop_servers(self) -> None:
        for name in self.running():
            self.ask("DELETE", f"users/{name}/server")
        self.wait_until_stopped()

    def wait_until_stopped(self, seconds: float = 60) -> None:
        """Until no server and no kernel is left; RuntimeError if one still is."""
        until = time.monotonic() + seconds
        while left := [who for who in self.processes().values() if who[0] in ("server", "kernel")]:
            if time.monotonic() > until:
                raise RuntimeError(f"Still running: {left}")
            time.sleep(0.3)

    def cull(self, idle: int, seconds: float = 90) -> float:
        """Run the idle culler with a limit of `idle` seconds; seconds until none was left."""
        rights = {"JUPYTERHUB_API_TOKEN": self._culler_token}
        culler = subprocess.Popen(
            [sys.executable, "-m", "jupyterhub_idle_culler", f"--timeout={idle}", "--cull-every=5",
             f"--url=http://127.0.0.1:{self._hub_port}/hub/api"],
            env=os.environ | rights | {"BOXLAB_TRIAL": self.mark},
            stdout=self._log, stderr=subprocess.STDOUT,
        )  # fmt: skip
        start = time.monotonic()
        try:
            self.wait_until_stopped(seconds)
        finally:
            culler.terminate()
            culler.wait(10)
        return time.monotonic() - start

    def processes(self) -> dict[int, tuple[str, str]]:
        """Process id -> (kind, learner); kind is server, kernel, proxy or hub."""
        found = {}
        for entry in Path("/proc").iterdir():
            if not entry.name.isdigit():
                continue
            try:
                surroundings = (entry / "environ").read_bytes().split(b"\0")
                words = (entry / "cmdline").read_bytes().decode(errors="replace")
            except OSError:
                continue
            if f"BOXLAB_TRIAL={self.mark}".encode() not in surroundings or not words:
                continue
            names = [s for s in surroundings if s.startswith(b"JUPYTERHUB_USER=")]
            learner = names[0].split(b"=", 1)[1].decode() if names else ""
            if "ipykernel" in words:
                kind = "kernel"
            elif learner:
                kind = "server"
            else:
                kind = "proxy" if "configurable-http-proxy" in words else "hub"
            found[int(entry.name)] = kind, learner
        return found

    def memory(self) -> dict[str, dict[str, float]]:
        """MB by kind: RSS, PSS (shared pages divided among their users), and private alone."""
        total: dict[str, dict[str, float]] = {}
        for pid, (kind, _) in self.processes().items():
            with contextlib.suppress(OSError):
                lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()[1:]
                kb = {line.split(":")[0]: float(line.split()[1]) for line in lines}
                row = total.setdefault(kind, {"count": 0, "rss": 0, "pss": 0, "private": 0})
                row["count"] += 1
                row["rss"] += kb["Rss"] / 1024
                row["pss"] += kb["Pss"] / 1024
                row["private"] += (kb["Private_Clean"] + kb["Private_Dirty"]) / 1024
        return total

    def processor(self) -> dict[str, float]:
        """Seconds of processor time used so far, by kind."""
        total: dict[str, float] = {}
        for pid, (kind, _) in self.processes().items():
            with contextlib.suppress(OSError):
                fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
                total[kind] = total.get(kind, 0) + (int(fields[11]) + int(fields[12])) / TICK
        return total
