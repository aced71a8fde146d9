"""A standalone cluster of Spark on this machine: a master and worker processes, each with executors of its own."""

import contextlib
import os
import socket
import subprocess
import sys
import time
from pathlib import Path

import pyspark

SPARK = Path(pyspark.__file__).parent


def environment():
    """Executors take the Python of the test, and nothing leaves this machine."""
    return {**os.environ, "PYSPARK_PYTHON": sys.executable, "SPARK_LOCAL_IP": "127.0.0.1", "SPARK_HOME": str(SPARK)}


def free_port():
    with socket.socket() as tried:
        tried.bind(("127.0.0.1", 0))
        return tried.getsockname()[1]


def wait_for(what, found, process=None, seconds=600):
    """Waits until something is found; says what where it never is."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        value = found()
        if value:
            return value
        if process is not None and process.poll() is not None:
            raise AssertionError(f"{what}: the process ended before, with {process.returncode}")
        time.sleep(0.1)
    raise AssertionError(f"{what}: not in {seconds} s")


class Cluster:
    """A master and its workers in a folder that holds their logs."""

    def __init__(self, folder, workers=2):
        self.folder = Path(folder)
        self.port = free_port()
        self.url = f"spark://127.0.0.1:{self.port}"
        self.workers = workers
        self.processes = []

    def __enter__(self):
        deploy = "org.apache.spark.deploy"
        place = ["--host", "127.0.0.1", "--port", str(self.port), "--webui-port", str(free_port())]
        self._start("master", [f"{deploy}.master.Master", *place], "I have been elected leader")
        for number in range(1, self.workers + 1):
            work = self.folder / f"work-{number}"
            room = ["--host", "127.0.0.1", "--cores", "1", "--memory", "2g", "--webui-port", str(free_port()), "--work-dir", str(work)]
            self._start(f"worker-{number}", [f"{deploy}.worker.Worker", *room, self.url], "Successfully registered")
        return self

    def __exit__(self, *_):
        for process in reversed(self.processes):
            process.terminate()
        for process in self.processes:
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(20)
            if process.poll() is None:
                process.kill()

    def _start(self, name, command, ready):
        log = self.folder / f"{name}.log"
        with log.open("wb") as written:
            process = subprocess.Popen(
                [SPARK / "bin" / "spark-class", *command], env=environment(), stdout=written, stderr=subprocess.STDOUT
            )
        self.processes.append(process)
        wait_for(f"{name} is ready", lambda: ready in log.read_text(errors="replace"), process)

    def executors(self):
        """Process numbers of the executors that the workers of this cluster have started."""
        own = {str(process.pid) for process in self.processes}
        found = []
        for entry in Path("/proc").iterdir():
            if entry.name.isdigit():
                with contextlib.suppress(OSError):
                    words = (entry / "cmdline").read_bytes().decode(errors="replace")
                    # Behind the name, which may hold blanks: state, then the parent.
                    parent = (entry / "stat").read_text().rpartition(")")[2].split()[1]
                    if "CoarseGrainedExecutorBackend" in words and parent in own:
                        found.append(int(entry.name))
        return sorted(found)
