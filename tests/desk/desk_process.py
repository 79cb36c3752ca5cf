"""A desk in a process of its own, and a PostgreSQL server to put its store into."""

from __future__ import annotations

import os
import pwd
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import httpx

PASSWORD = "grease and patience"
_STARTS_WITHIN_S = 90


class Desk:
    """``start`` gives its address; ``kill`` is SIGKILL, after which ``start`` opens the same store again."""

    def __init__(self, folder: Path, store: str | None = None, *options: str):
        self.folder, self.store, self.options = folder, store, options
        self.port, self.url = 0, ""
        self.process: subprocess.Popen[str] | None = None

    def start(self) -> str:
        command = [sys.executable, "-m", "talkaround.cli", "desk", "--port", str(self.port), *self.options]
        command += ["--store", self.store] if self.store else []
        env = {**os.environ, "XDG_DATA_HOME": str(self.folder)}
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=env)
        assert self.process.stdout is not None
        said = []
        until = time.monotonic() + _STARTS_WITHIN_S
        while time.monotonic() < until:
            line = self.process.stdout.readline()
            said.append(line)
            if found := re.search(r"(https?://\S+):(\d+)/", line):
                self.url, self.port = f"{found[1]}:{found[2]}", int(found[2])
                break
            if not line and self.process.poll() is not None:
                raise RuntimeError("".join(said))
        while time.monotonic() < until:
            try:
                httpx.get(f"{self.url}/static/desk.css", timeout=10)
                return self.url
            except httpx.HTTPError:
                time.sleep(0.02)
        raise RuntimeError("".join(said))

    def kill(self) -> None:
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        self._end(signal.SIGTERM)

    def _end(self, how: signal.Signals) -> None:
        if self.process is not None:
            self.process.send_signal(how)
            self.process.wait(20)
            if self.process.stdout:
                self.process.stdout.close()
            self.process = None


class Person:
    """Somebody who is signed in, by plain requests as a browser without scripts would send them."""

    def __init__(self, url: str, name: str = "Ada", password: str = PASSWORD):
        self.client = httpx.Client(base_url=url, timeout=30, follow_redirects=True)
        page = self.client.get("/sign-in")
        path = "/first" if page.url.path == "/first" else "/sign-in"
        answer = self.client.post(path, data={"form_key": key_in(page.text), "name": name, "password": password})
        assert answer.url.path == "/", answer.text
        self.key = key_in(answer.text)

    def make(self, name: str, role: str, password: str = PASSWORD, **more: str) -> None:
        self.post("/people", name=name, role=role, password=password, **more).raise_for_status()

    def post(self, path: str, **fields: str) -> httpx.Response:
        return self.client.post(path, data={"form_key": self.key, **fields})

    def get(self, path: str) -> httpx.Response:
        return self.client.get(path)

    def take(self, text: str, key: str, **facts: str) -> int:
        """Keep a typed note; gives the number of its order."""
        answer = self.client.post(
            "/api/notes", headers={"x-form-key": self.key}, data={"key": key, "text": text, **facts}
        )
        assert answer.status_code in (200, 201), answer.text
        order: int = answer.json()["order"]
        return order

    def close(self) -> None:
        self.client.close()


def key_in(page: str) -> str:
    found = re.search(r'name="form_key" value="([^"]+)"', page)
    assert found, page
    return found[1]


def line_keys(page: str) -> list[str]:
    """The keys of the lines on the page of an order, as they come."""
    return re.findall(r'data-key="([0-9a-f]+)"', page)


def seen(page: str) -> str:
    """The version that the page shows."""
    found = re.search(r'name="seen" value="(\d+)"', page)
    assert found, page
    return found[1]


class Postgres:
    """A PostgreSQL server of one's own on a socket in a temporary folder."""

    def __init__(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="talkaround-pg-"))
        self.user = "postgres" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
        if os.geteuid() == 0:
            shutil.chown(self.folder, self.user)
        self._do("initdb", "-D", str(self.folder / "data"), "-A", "trust", "-U", self.user, "--no-sync")
        quietly = f"-c listen_addresses='' -c unix_socket_directories={self.folder} -c fsync=on -c max_connections=100"
        self._do(
            "pg_ctl", "-D", str(self.folder / "data"), "-l", str(self.folder / "log"), "-w", "-o", quietly, "start"
        )
        self._made = 0

    def database(self) -> str:
        """The URL of a new, empty database."""
        self._made += 1
        self._do("createdb", "-h", str(self.folder), "-U", self.user, f"desk{self._made}")
        return f"postgresql://{self.user}@/desk{self._made}?host={self.folder}"

    def stop(self) -> None:
        self._do("pg_ctl", "-D", str(self.folder / "data"), "-m", "immediate", "stop")
        shutil.rmtree(self.folder, ignore_errors=True)

    def _do(self, program: str, *arguments: str) -> None:
        command = [str(_found(program)), *arguments]
        if os.geteuid() == 0:
            command = ["runuser", "-u", self.user, "--", *command]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.STDOUT, cwd=self.folder)


def _found(program: str) -> Path | None:
    places = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{program}"))
    at = shutil.which(program)
    return Path(at) if at else places[-1] if places else None


def has_postgres() -> bool:
    return all(_found(p) for p in ("initdb", "pg_ctl", "createdb"))


def browser() -> str | None:
    """The path of a Chromium to drive."""
    return shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")


__all__ = ["PASSWORD", "Desk", "Person", "Postgres", "browser", "has_postgres", "key_in", "line_keys", "seen"]
