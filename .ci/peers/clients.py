"""lxi (SCPI over a raw socket) and mbpoll (Modbus over TCP) at the virtual bench.

Both are clients that other people wrote, so what our server says is read by a
grammar that is not ours. What is compared, and why:

* the identity has the four fields of IEEE 488.2, and says SIMULATED;
* two measurements in one message come back as two numbers joined by ';';
* a header path is kept within a message (SCPI-99, 6.2.4), and restarted by ':';
* an unknown query is silent and leaves error -113 in the queue, once; the queue
  is then empty (SCPI-99, chapter 21);
* function 02 gives the two channels of the lid at addresses 0 and 1, which a
  person opens and closes once after a client came; an address or a unit that is
  not there is refused as the Modbus specification says, in each table.
"""

import re
import sys

from process import Bench, Failed, Process, output_of, require, until

NUMBER = r"[+-]?\d+\.\d+E[+-]\d+"


def ask(bench, message, timeout="3"):
    answer, _ = output_of("lxi", "scpi", "-a", "127.0.0.1", "-p", str(bench.scpi), "-t", timeout, "-r", message)
    return answer.strip()


def silence(bench, message):
    """lxi gives up, with a status that says so, on a query that nobody answers."""
    answer, errors = output_of("lxi", "scpi", "-a", "127.0.0.1", "-p", str(bench.scpi), "-t", "1", "-r", message, status=1)
    require(answer.strip() == "" and "Timeout" in errors, "an unknown query was answered:", answer, errors)


def instrument(bench):
    identity = ask(bench, "*IDN?")
    require(identity.count(",") == 3 and "SIMULATED" in identity, "*IDN?:", identity)
    measured = ask(bench, "MEAS:VOLT?;:MEAS:CURR?")
    require(re.fullmatch(f"{NUMBER};{NUMBER}", measured), "two measurements:", measured)
    require(all(abs(float(n)) < 0.1 for n in measured.split(";")), "the output is off, but:", measured)
    long_form = ask(bench, "measure:scalar:voltage:dc?")
    require(re.fullmatch(NUMBER, long_form), "the long form of a measurement:", long_form)
    require(ask(bench, "SYST:VERS?;ERR?") == '1999.0;0,"No error"', "the path of a header is not kept within a message")
    silence(bench, "SPECTRUM:COLOUR?")
    error = ask(bench, "SYST:ERR?")
    require(error.startswith('-113,"Undefined header'), "after an unknown header:", error)
    require(ask(bench, "SYST:ERR?") == '0,"No error"', "one error was queued twice")


def poll(bench, *flags):
    return ("mbpoll", "-m", "tcp", "-p", str(bench.modbus), "-0", *flags, "127.0.0.1")


def lid(bench, poller):
    """The pairs of channels in the order in which mbpoll saw them change."""
    seen, pair = [], {}

    def cycled():
        while not poller.lines.empty():
            reading = re.match(r"\[([01])\]:\s+([01])", poller.lines.get() or "")
            if reading:
                pair[reading[1]] = reading[2]
            if reading and reading[1] == "1" and (not seen or seen[-1] != (pair["0"], pair["1"])):
                seen.append((pair["0"], pair["1"]))
        return seen[-1:] == [("1", "1")] and ("0", "0") in seen

    until(cycled, 30, "the lid opens and closes")
    # Each poll is one exchange, so both channels are of one moment.
    require(seen == [("1", "1"), ("0", "0"), ("1", "1")], "the lid was seen as", seen)


def refusals(bench):
    for flags, says in (
        (("-a", "1", "-r", "2", "-c", "2", "-t", "1", "-1"), "Illegal data address"),
        (("-a", "1", "-r", "0", "-c", "2", "-t", "4", "-1"), "Illegal data address"),
        (("-a", "2", "-r", "0", "-c", "2", "-t", "1", "-1"), "Target device failed to respond"),
    ):
        _, errors = output_of(*poll(bench, *flags), status=1)
        require(says in errors, flags, "should be refused with", says, "but:", errors)


def main(anodized):
    with Bench(anodized) as bench:
        # stdbuf: into a pipe mbpoll would keep its lines for itself.
        with Process("stdbuf", "-oL", *poll(bench, "-a", "1", "-r", "0", "-c", "2", "-t", "1", "-l", "100")) as poller:
            until(lambda: not poller.lines.empty(), 10, "mbpoll polls")
            instrument(bench)
            lid(bench, poller)
        refusals(bench)
        require(bench.end() == 0, "the virtual bench did not end with 0")
    print("lxi and mbpoll read the virtual bench as the standards say")


if __name__ == "__main__":
    try:
        main(*sys.argv[1:])
    except Failed as failed:
        sys.exit(f"clients: {failed}")
