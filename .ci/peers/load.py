"""Whole loads in real time, bench and run each a process of its own.

1. Against the virtual bench alone: complete, and the review of the journal gives
   the very numbers of the result line. Both come from one stream of readings, so
   they are compared to the last bit.
2. With a lid that libmodbus serves: it is open at first, so the run has to wait;
   it completes after the lid closed. The answers are those of another's code.
3. The same lid, one channel of which opens during the ramp: the run trips, its
   exit status is 1, and the supply that is asked by nobody else is off.
"""

import json
import pathlib
import re
import sys
import tempfile
import time

from process import Bench, Failed, Process, output_of, require

HERE = pathlib.Path(__file__).parent
PROFILE = str(HERE / "short.yaml")
TRIES = 3


class Run(Process):
    """anodized run --json, read event by event."""

    def __init__(self, anodized, bench_file, journal):
        super().__init__(anodized, "run", "--json", "--bench", str(bench_file), "--profile", PROFILE, "--journal", str(journal))

    def until(self, holds):
        """The first event for which holds is true, or the result."""
        while True:
            line = self.line()
            require(line is not None, "the run ended without a result")
            event = json.loads(line)
            if event["event"] == "result" or holds(event):
                return event

    def result(self):
        return self.until(lambda event: False)


def again(load, *arguments):
    """A shared machine may stall for longer than the second that a run goes without
    control. That trip is right and says nothing of the load, so the load is run anew."""
    for _ in range(TRIES):
        result = load(*arguments)
        if (result["trip"] or {}).get("code") != "control-absent":
            return result
        print("this machine stood still for over a second: once more")
    raise Failed(f"control was absent in {TRIES} loads: this machine is too busy for real time")


def alone(anodized, folder):
    bench_file, journal = folder / "bench.yaml", folder / "alone.db"
    with Bench(anodized, "--bench-file", str(bench_file)) as bench, Run(anodized, bench_file, journal) as run:
        result = run.result()
        result["status"] = run.child.wait(timeout=30)
        require(bench.end() == 0, "the virtual bench did not end with 0")
    if result["outcome"] == "complete":
        compare(anodized, journal, result)
    return result


def compare(anodized, journal, result):
    """The review of the record against the result line, number by number."""
    review = json.loads(output_of(anodized, "review", "last", "--json", "--journal", str(journal))[0])
    require(review["run"] == result["run"] and review["ended"]["outcome"] == result["outcome"], "another run was reviewed:", review)
    shared = [key for key in result if key in review["estimates"]]
    require(len(shared) >= 10, "the review shares only", shared, "with the result")
    for key in shared:
        require(result[key] == review["estimates"][key], key, "is", result[key], "in the result but", review["estimates"][key], "in the review")
    codes = [[finding["code"] for finding in those["findings"]] for those in (result, review)]
    require(codes[0] == codes[1], "findings of result and review:", *codes)
    require(review["simulated"] is True, "the review does not say SIMULATED")
    print(f"{len(shared)} numbers of the result line are those of the review")


def with_lid(anodized, lid_server, folder, opens):
    """A load whose lid is served by libmodbus; opens: one channel does, in the ramp."""
    bench_file, mixed, journal = folder / "bench.yaml", folder / "mixed.yaml", folder / "lid.db"
    with Bench(anodized, "--bench-file", str(bench_file)) as bench, Process(lid_server, stdin=-1) as lid:
        port = lid.line().strip()
        text, lids = re.subn(f":{bench.modbus}\\b", f":{port}", bench_file.read_text())
        require(lids == 1, "the bench file names its lid", lids, "times")
        mixed.write_text(text)
        lid.tell("00")
        with Run(anodized, mixed, journal) as run:
            run.until(lambda event: event.get("state") == "checking")
            time.sleep(4)  # the virtual person has been at the other lid by then
            require(not any(event(line).get("state") in ("contact-check", "ramping") for line in drained(run)), "energised with an open lid")
            lid.tell("11")
            if opens:
                run.until(lambda event: event.get("state") == "ramping")
                lid.tell("01")
            result = run.result()
            result["status"] = run.child.wait(timeout=30)
        output = output_of("lxi", "scpi", "-a", "127.0.0.1", "-p", str(bench.scpi), "-t", "3", "-r", "OUTP?")[0].strip()
        require(output == "0", "the load has ended, but OUTP? is", output)
    return result


def event(line):
    return json.loads(line) if line else {}


def drained(run):
    while not run.lines.empty():
        yield run.lines.get()


def main(anodized, lid_server):
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        for load, arguments, outcome, status in (
            (alone, (anodized, folder), "complete", 0),
            (with_lid, (anodized, lid_server, folder, False), "complete", 0),
            (with_lid, (anodized, lid_server, folder, True), "tripped", 1),
        ):
            result = again(load, *arguments)
            require(result["outcome"] == outcome and result["status"] == status, "wanted", outcome, "and status", status, "but:", result)
            require(result["simulated"] is True, "the result does not say SIMULATED")
        require(result["trip"]["code"] in ("interlock-open", "interlock-disagrees"), "tripped for another reason:", result["trip"])
    print("loads over SCPI and Modbus between processes:", "complete, complete behind another's lid, tripped by it")


if __name__ == "__main__":
    try:
        main(*sys.argv[1:])
    except Failed as failed:
        sys.exit(f"load: {failed}")
