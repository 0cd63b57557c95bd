"""The built program as a child process, apart from this machine's settings. Shared by the outside checks."""

import json
import os
import subprocess
import tempfile
from pathlib import Path

TOP = Path(__file__).resolve().parent.parent.parent
PROGRAM = Path(os.environ.get("GAUGEROD_PROGRAM", TOP / "target" / "release" / "gaugerod"))
DATA = TOP / "tests" / "data"


class Ran:
    """What one run left behind."""

    def __init__(self, done: subprocess.CompletedProcess):
        self.code, self.out, self.err = done.returncode, done.stdout.decode(), done.stderr.decode()

    def json(self):
        return json.loads(self.out)

    def __repr__(self):
        return f"exit {self.code}\n{self.out[-2000:]}\n{self.err[-2000:]}"


class Tablet:
    """A folder for registers and files, and settings and device keys of its own."""

    def __init__(self, folder=None):
        self.folder = Path(folder or tempfile.mkdtemp(prefix="gaugerod-outside-"))
        self.home = self.folder / "home"
        self.home.mkdir(exist_ok=True)

    def run(self, *args, given="") -> Ran:
        keep = {k: v for k, v in os.environ.items() if k in ("PATH", "LD_LIBRARY_PATH")}
        env = keep | {"HOME": str(self.home), "TZ": "UTC", "LC_ALL": "C.UTF-8"}
        for name in ("CONFIG", "DATA", "STATE", "CACHE"):
            env[f"XDG_{name}_HOME"] = str(self.home / name.lower())
        given = given if isinstance(given, bytes) else given.encode()
        done = subprocess.run(
            [PROGRAM, *map(str, args)], input=given, capture_output=True, cwd=self.folder, env=env, timeout=600
        )
        ran = Ran(done)
        assert "panicked at" not in ran.err, ran.err
        return ran


def tool(*args) -> subprocess.CompletedProcess:
    """Runs a tool of the machine; its output is text."""
    env = os.environ | {"LC_ALL": "C.UTF-8", "TZ": "UTC"}
    return subprocess.run([str(a) for a in args], capture_output=True, text=True, env=env, timeout=120, errors="replace")
