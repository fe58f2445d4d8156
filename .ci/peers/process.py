"""The programs of this project as other processes see them: started, read, ended."""

import json
import queue
import signal
import subprocess
import threading
import time

LONGEST = 120  # s that anything here may take


class Failed(Exception):
    """What was seen is not what was asked for."""


def require(holds, *what):
    if not holds:
        raise Failed(" ".join(str(w) for w in what))


class Process:
    """A child whose lines of output come with a deadline."""

    def __init__(self, *command, stdin=subprocess.DEVNULL):
        self.command = command
        self.child = subprocess.Popen(command, stdin=stdin, stdout=subprocess.PIPE, text=True, bufsize=1)
        self.lines = queue.Queue()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self):
        for line in self.child.stdout:
            self.lines.put(line)
        self.lines.put(None)

    def line(self):
        """The next line, or None at the end of output."""
        try:
            return self.lines.get(timeout=LONGEST)
        except queue.Empty:
            raise Failed(self.command, "said nothing for", LONGEST, "s") from None

    def tell(self, text):
        self.child.stdin.write(text + "\n")
        self.child.stdin.flush()

    def end(self):
        """Asks it to stop, and gives its exit status."""
        if self.child.poll() is None:
            self.child.send_signal(signal.SIGTERM)
        return self.child.wait(timeout=LONGEST)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        if self.child.poll() is None:
            self.child.kill()
        self.child.wait()


class Bench(Process):
    """anodized virtual-bench, with the addresses that it printed."""

    def __init__(self, anodized, *flags):
        super().__init__(anodized, "virtual-bench", *flags)
        said = json.loads(self.line())
        self.scpi = int(said["scpi"].rsplit(":", 1)[1])
        self.modbus = int(said["modbus"].rsplit(":", 1)[1])
        require(said["simulated"] is True, "the virtual bench does not say that it is simulated:", said)


def output_of(*command, status=0, timeout=LONGEST):
    """Standard output and standard error of a program that must end with status."""
    done = subprocess.run(command, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=timeout, check=False)
    require(done.returncode == status, command, "ended with", done.returncode, "instead of", status, done.stdout, done.stderr)
    return done.stdout, done.stderr


def until(holds, seconds, what):
    """Waits for something that comes in its own time."""
    ends = time.monotonic() + seconds
    while not holds():
        require(time.monotonic() < ends, "not within", seconds, "s:", what)
        time.sleep(0.1)
