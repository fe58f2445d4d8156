"""pyvisa drives the virtual supply through a small load, as a lab script would.

What is compared, and why: setpoints read back as they were written; a value that
is out of range is refused with -222 and changes nothing; the measured volts follow
a rising ramp, and the current of a growing film flows; at constant volts the
current dies away, as the growth law wants; off is off, and the volts fall then.
"""

import sys
import time

import pyvisa

from process import Bench, Failed, require, until

RAMP = [0.5 * step for step in range(1, 21)]  # V, one every STEP seconds
STEP = 0.2  # s


def asks(supply, message):
    return float(supply.query(message))


def setpoints(supply):
    supply.write("VOLT 12.34;:CURR 1.234")
    require(asks(supply, "VOLT?") == 12.34 and asks(supply, "CURR?") == 1.234, "setpoints do not read back")
    highest = asks(supply, "VOLT? MAX")
    supply.write(f"VOLT {highest + 1:.2f}")
    error = supply.query("SYST:ERR?")
    require(error.startswith("-222,"), "above the highest volts:", error)
    require(asks(supply, "VOLT?") == 12.34, "a refused value changed the setpoint")


def ramp(supply):
    require(supply.query("VOLT 0;:CURR 3;:OUTP ON;*OPC?") == "1", "on was not done")
    require(supply.query("OUTP?") == "1", "the output is not on")
    volts, amperes = [], []
    for target in RAMP:
        require(supply.query(f"VOLT {target:.2f};*OPC?") == "1", "the setpoint was not taken")
        time.sleep(STEP)
        pair = supply.query("MEAS:VOLT?;:MEAS:CURR?").split(";")
        volts.append(float(pair[0]))
        amperes.append(float(pair[1]))
    require(all(later > earlier for earlier, later in zip(volts[::4], volts[4::4])), "the volts do not rise:", volts)
    require(abs(volts[-1] - RAMP[-1]) < 0.5, "the volts do not follow:", volts)
    require(min(amperes[-5:]) > 0.1, "no film grows:", amperes)
    return amperes[-1]


def hold(supply, at_the_end_of_the_ramp):
    until(lambda: asks(supply, "MEAS:CURR?") < 0.6 * at_the_end_of_the_ramp, 20, "the current dies away at constant volts")
    # Bit 1 of the questionable condition: current not regulated, so constant volts.
    require(supply.query("STAT:QUES:COND?") == "2", "not in constant volts")


def off(supply):
    require(supply.query("OUTP OFF;*OPC?") == "1" and supply.query("OUTP?") == "0", "the output is not off")
    until(lambda: asks(supply, "MEAS:VOLT?") < 0.7 * RAMP[-1], 30, "the volts fall after off")
    until(lambda: abs(asks(supply, "MEAS:CURR?")) < 0.01, 5, "the current ends with off")
    require(supply.query("SYST:ERR?") == '0,"No error"', "an error is left in the queue")


def main(anodized):
    with Bench(anodized) as bench:
        supply = pyvisa.ResourceManager("@py").open_resource(
            f"TCPIP0::127.0.0.1::{bench.scpi}::SOCKET", read_termination="\n", write_termination="\n", timeout=5000)
        require("SIMULATED" in supply.query("*IDN?"), "the identity does not say SIMULATED")
        supply.write("OUTP OFF;*CLS")
        time.sleep(4)  # a person opens the lid after a second and closes it after three
        setpoints(supply)
        hold(supply, ramp(supply))
        off(supply)
        supply.close()
        require(bench.end() == 0, "the virtual bench did not end with 0")
    print("pyvisa drove the virtual supply through a load")


if __name__ == "__main__":
    try:
        main(*sys.argv[1:])
    except Failed as failed:
        sys.exit(f"supply: {failed}")
