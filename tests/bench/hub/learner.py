"""A simulated learner: logs in, opens a lesson, runs it, commits a prediction, moves a slider.

It speaks to the hub as JupyterLab does: the login form, the server's progress, a session for the
notebook, and the kernel's websocket, all through the hub's proxy. Only the drawing of the page is
left out.
"""

from __future__ import annotations

import asyncio
import json
import random
import ssl
import time
import uuid

import requests
from jupyter_server.services.kernels.connection.base import deserialize_binary_message
from tornado.httpclient import HTTPRequest
from tornado.websocket import websocket_connect

LESSON = "boxlab/lessons/01-port-or-radiator.ipynb"
CHECK = ".drive()"  # in the machine check, which no learner runs
HAND = 1 / 30  # s between two positions of a hand that drags


class Learner:
    def __init__(self, hub, name: str, password: str = ""):
        self.base, self.name = hub.base, name
        self._password = password or hub.password_of(name)
        self.times: dict[str, float] = {}  # what took how long, s
        self.models: dict[str, dict] = {}  # widget id -> its state, in the order they were made
        self._trust = hub.trust
        self._http = requests.Session()
        self._http.verify, self._http.trust_env = hub.trust, False  # no bundle of another's
        self._idle: dict[str, asyncio.Event] = {}
        self._failed: dict[str, str] = {}
        self._answers: asyncio.Queue = asyncio.Queue()
        self._reader = self._socket = None

    # Getting in.

    async def arrive(self) -> None:
        """From the login form to a kernel that is ready for the lesson."""
        start = time.monotonic()
        await asyncio.to_thread(self._log_in)
        self.times["login"] = time.monotonic() - start
        await asyncio.to_thread(self._start_server)
        self.times["server"] = time.monotonic() - start - self.times["login"]
        kernel = await asyncio.to_thread(self._open_lesson)
        await self._connect(kernel)
        await self._request("kernel_info_request", {})
        self.times["login to kernel ready"] = time.monotonic() - start

    def _log_in(self) -> None:
        if not self.admitted():
            raise RuntimeError(f"{self.name} is not let in")

    def admitted(self) -> bool:
        """Fill in the login form; whether the hub then leads on, and does not ask again."""
        url = f"{self.base}/hub/login"
        self._get(url)
        form = {
            "username": self.name, "password": self._password,
            "_xsrf": self._cookie("/hub/"),
        }  # fmt: skip
        answer = self._http.post(url, data=form, timeout=60, allow_redirects=False)
        return answer.status_code == 302

    def _start_server(self) -> None:
        self._get(f"{self.base}/hub/spawn/{self.name}")
        progress = f"{self.base}/hub/api/users/{self.name}/server/progress"
        headers = {"X-XSRFToken": self._cookie("/hub/"), "Accept": "text/event-stream"}
        with self._http.get(progress, headers=headers, stream=True, timeout=150) as events:
            events.raise_for_status()
            for line in events.iter_lines():
                if line.startswith(b"data:"):
                    event = json.loads(line[5:])
                    if event.get("failed"):
                        raise RuntimeError(f"{self.name}: {event.get('message')}")
                    if event.get("ready"):
                        return
        raise RuntimeError(f"{self.name}: the hub stopped telling about the server")

    def _open_lesson(self) -> str:
        mine = f"{self.base}/user/{self.name}"
        self._get(f"{mine}/lab/tree/{LESSON}")
        headers = {"X-XSRFToken": self._cookie(f"/user/{self.name}/")}
        self.book = self._get(f"{mine}/api/contents/{LESSON}", headers=headers).json()["content"]
        wanted = {
            "path": LESSON, "name": "", "type": "notebook", "kernel": {"name": "python3"},
        }  # fmt: skip
        answer = self._http.post(f"{mine}/api/sessions", json=wanted, headers=headers, timeout=120)
        answer.raise_for_status()
        return answer.json()["kernel"]["id"]

    def _get(self, url: str, **options):
        answer = self._http.get(url, timeout=120, **options)
        answer.raise_for_status()
        return answer

    def _cookie(self, path: str) -> str:
        return next(c.value for c in self._http.cookies if c.name == "_xsrf" and c.path == path)

    # Talking to the kernel.

    async def _connect(self, kernel: str) -> None:
        self._session = uuid.uuid4().hex
        path = f"/user/{self.name}/api/kernels/{kernel}/channels?session_id={self._session}"
        plain = requests.Request("GET", f"{self.base}{path}")
        cookies = self._http.prepare_request(plain).headers["Cookie"]
        request = HTTPRequest(
            f"ws{self.base[4:]}{path}",
            headers={"Cookie": cookies, "Origin": self.base, "Sec-Fetch-Mode": "websocket"},
            connect_timeout=60, request_timeout=60, ssl_options=self._encrypted(),
        )  # fmt: skip
        self._socket = await websocket_connect(request, max_message_size=1 << 27)
        self._reader = asyncio.ensure_future(self._read())

    def _encrypted(self) -> ssl.SSLContext | None:
        return None if self._trust is True else ssl.create_default_context(cafile=self._trust)

    async def _read(self) -> None:
        while (raw := await self._socket.read_message()) is not None:
            at = time.monotonic()
            message = deserialize_binary_message(raw) if isinstance(raw, bytes) else json.loads(raw)
            content, parent = message["content"], message["parent_header"].get("msg_id")
            match message["header"]["msg_type"]:
                case "status" if content["execution_state"] == "idle" and parent in self._idle:
                    self._idle[parent].set()
                case "execute_reply" if content["status"] != "ok":
                    self._failed[parent] = f"{content.get('ename')}: {content.get('evalue')}"
                case "comm_open":
                    self.models[content["comm_id"]] = dict(content["data"].get("state", {}))
                case "comm_msg" if content["data"].get("method") == "update":
                    model = self.models.setdefault(content["comm_id"], {})
                    model.update(content["data"]["state"])
                    if ["now"] in content["data"].get("buffer_paths", []):
                        size = len(message["buffers"][0])
                        self._answers.put_nowait((at, content["comm_id"], size))

    def _send(self, kind: str, content: dict) -> str:
        name = uuid.uuid4().hex
        self._idle[name] = asyncio.Event()
        header = {
            "msg_id": name, "msg_type": kind, "username": "", "session": self._session,
            "date": "", "version": "5.3",
        }  # fmt: skip
        message = {
            "channel": "shell", "header": header, "parent_header": {}, "metadata": {},
            "content": content, "buffers": [],
        }  # fmt: skip
        self._socket.write_message(json.dumps(message))
        return name

    async def _request(self, kind: str, content: dict, seconds: float = 120) -> None:
        name = self._send(kind, content)
        await asyncio.wait_for(self._idle[name].wait(), seconds)
        if name in self._failed:
            raise RuntimeError(f"{self.name}: {self._failed[name]}")

    async def _set(self, model: str, **state) -> None:
        data = {"method": "update", "state": state, "buffer_paths": []}
        await self._request("comm_msg", {"comm_id": model, "data": data})

    # Working.

    async def run_lesson(self) -> None:
        """Every code cell but the machine check, in turn. An error in a cell raises here."""
        start = time.monotonic()
        for cell in self.book["cells"]:
            code = "".join(cell["source"])
            if cell["cell_type"] == "code" and CHECK not in code:
                await self.run(code)
        self.times["lesson run"] = time.monotonic() - start

    async def run(self, code: str) -> None:
        """One cell."""
        wish = {
            "code": code, "silent": False, "store_history": True, "user_expressions": {},
            "allow_stdin": False, "stop_on_error": True,
        }  # fmt: skip
        await self._request("execute_request", wish)

    def _first(self, kind: str, **state) -> str:
        return next(
            name for name, model in self.models.items()
            if model.get("_model_name") == kind and state.items() <= model.items()
        )  # fmt: skip

    def committed(self) -> bool:
        """Whether the first prediction of the lesson stands, as the page shows it."""
        return bool(self.models[self._first("RadioButtonsModel")].get("disabled"))

    async def commit(self) -> None:
        """Choose the first option of the first prediction and commit it."""
        button = self._first("ButtonModel", description="Commit my prediction")
        await self._set(self._first("RadioButtonsModel"), index=0)
        click = {"method": "custom", "content": {"event": "click"}}
        await self._request("comm_msg", {"comm_id": button, "data": click})

    async def hand_in(self) -> None:
        """Run the cell that makes a file, in this kernel, and press its button."""
        await self.run("quiz.hand_in()")
        click = {"method": "custom", "content": {"event": "click"}}
        button = self._first("ButtonModel", description="Make my file")
        await self._request("comm_msg", {"comm_id": button, "data": click})

    async def single_moves(self, count: int) -> list[float]:
        """One step about each second; seconds from each to the state that answers it."""
        panel = self._panel()
        picker, taken = random.Random(self.name), []
        await asyncio.sleep(picker.random())
        for move in range(count):
            taken.append((await self._ask(*panel, move))[0])
            await asyncio.sleep(0.6 + 0.8 * picker.random())
        return taken

    async def drag(self, seconds: float) -> tuple[list[float], int, bool]:
        """A hand that goes to and fro: lag of each state in s, bytes, and if the last landed.

        Like the page, it asks one question at a time, and then for where the hand is by then.
        Nothing is sent ahead here, so this is the hardest that one hand can drive its kernel.
        """
        panel = self._panel()
        lags, size, start, turn = [], 0, time.monotonic(), 0
        while time.monotonic() < start + seconds:
            taken, sent = await self._ask(*panel, turn)
            lags.append(taken)
            size += sent
            turn = max(turn + 1, round((time.monotonic() - start) / HAND))
            await asyncio.sleep(max(0.0, start + turn * HAND - time.monotonic()))
        return lags, size, self._answers.empty()

    async def _ask(self, panel, values, place, control, turn: int) -> tuple[float, int]:
        """Ask for one state, `turn` steps along a slider; seconds until it came, and its bytes."""
        span, turn = (control["hi"] - control["lo"]) / 64, turn % 32
        # to and fro, but never twice at the same value: for that the kernel would have no news
        value = control["lo"] + span * (24 + (turn if turn < 16 else 31.5 - turn))
        asked = [*values[:place], value, *values[place + 1 :]]
        while not self._answers.empty():
            self._answers.get_nowait()
        start = time.monotonic()
        data = {"method": "custom", "content": {"ask": asked}}
        self._send("comm_msg", {"comm_id": panel, "data": data})
        async with asyncio.timeout(30):
            while True:
                at, who, size = await self._answers.get()
                if who == panel:
                    return at - start, size

    async def leave(self) -> None:
        """Close the page."""
        if self._socket is not None:
            self._socket.close()
            await self._reader
        self._http.close()

    def _panel(self) -> tuple[str, list, int, dict]:
        """The first panel: its name, the values of its controls, and where its first slider is."""
        name = next(name for name, model in self.models.items() if "about" in model)
        controls = self.models[name]["about"]["controls"]
        place = next(i for i, each in enumerate(controls) if "lo" in each)
        return name, [each["st"] for each in controls], place, controls[place]
