"""Real accounts for the trial, made as the guide says and removed again. Needs root.

Names begin with `trial-`; one that is there already is not touched, and the trial stops.
"""

from __future__ import annotations

import grp
import pwd
import secrets
import subprocess
from pathlib import Path

GROUP = "evening-class"


def _run(*command: str, told: str = "") -> None:
    subprocess.run(command, input=told, text=True, check=True, stderr=subprocess.DEVNULL)


class Accounts:
    """Use as a context manager: `passwords` by name while it lasts, nothing left after it."""

    def __init__(self, scratch: Path, count: int):
        self.scratch = scratch
        self.passwords = {f"trial-{n:02}": secrets.token_hex(6) for n in range(1, count + 1)}
        self.stranger = "trial-stranger"  # an account of the machine that is not in the class
        self.passwords[self.stranger] = secrets.token_hex(6)
        self._made: list[str] = []
        self._group = False

    def __enter__(self) -> Accounts:
        there = {each.pw_name for each in pwd.getpwall()} & set(self.passwords)
        if there:
            raise RuntimeError(f"these accounts are there already: {', '.join(sorted(there))}")
        try:
            if GROUP not in {each.gr_name for each in grp.getgrall()}:
                _run("groupadd", GROUP)
                self._group = True
            for name, password in self.passwords.items():
                more = () if name == self.stranger else ("-G", GROUP)
                _run(
                    "useradd", "-m", "-K", "HOME_MODE=0700", *more, "-s", "/usr/sbin/nologin", name
                )
                self._made.append(name)
                _run("chpasswd", told=f"{name}:{password}\n")
            self._certificate()
        except BaseException:
            self.__exit__()
            raise
        return self

    def _certificate(self) -> None:
        self.certificate = self.scratch / "class.crt"
        _run(
            "openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "30",
            "-subj", "/CN=boxlab class", "-addext", "subjectAltName=IP:127.0.0.1",
            "-keyout", str(self.scratch / "class.key"), "-out", str(self.certificate),
        )  # fmt: skip

    def __exit__(self, *_) -> None:
        for name in self._made:
            subprocess.run(["userdel", "-r", name], stderr=subprocess.DEVNULL)
        if self._group:
            subprocess.run(["groupdel", GROUP])
        for name in ("class.key", "class.crt"):
            (self.scratch / name).unlink(missing_ok=True)

    def home(self, name: str) -> Path:
        return Path(pwd.getpwnam(name).pw_dir)
