"""Independent peers against the virtual bench, and one load between two processes.

Usage: peers.py PROGRAM FOLDER

lxi (a general-purpose SCPI client), PyVISA (a VISA client) and mbpoll (a Modbus
client over libmodbus) were written by others and know nothing of this project: what
they read must be what the standards say.
"""
import json
import pathlib
import subprocess
import sys
import time

import pyvisa

program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
PROFILE = """name: a breath of straw
metal: titanium-grade-5
bath: bicarbonate
target: 9 V
ramp: 2 V/s
current density: 8 mA/cm2
end:
  current density: 1 mA/cm2
  sustained: 2 s
"""


def bench(name):
    """Starts a virtual bench; returns the process and what it says of itself."""
    path = folder / name
    process = subprocess.Popen([program, "virtual-bench", "--seed", "5", "--bench-file", str(path)], stdout=subprocess.PIPE, text=True)
    said = json.loads(process.stdout.readline())
    return process, said, path


def port(address):
    return address.rsplit(":", 1)[1]


def expect(what, got, want):
    if not want(got):
        sys.exit(f"{what}: got {got!r}")
    print(f"{what}: {got.strip() if isinstance(got, str) else got}", flush=True)


def lxi(said, question):
    out = subprocess.run(["lxi", "scpi", "-a", "127.0.0.1", "-p", port(said["scpi"]), "-r", question], capture_output=True, text=True, timeout=20)
    return out.stdout.strip()


def scpi_by_lxi(said):
    expect("lxi *IDN?", lxi(said, "*IDN?"), lambda s: "SIMULATED" in s and s.count(",") == 3)
    expect("lxi path restarted", lxi(said, "MEAS:VOLT?;:MEAS:CURR?"), lambda s: s.count(";") == 1)
    expect("lxi SYST:VERS?", lxi(said, "SYST:VERS?"), lambda s: s == "1999.0")
    expect("lxi unknown header is queued", lxi(said, "ABCD;:SYST:ERR?"), lambda s: s.startswith("-113,"))


def scpi_by_visa(said):
    session = pyvisa.ResourceManager("@py").open_resource(f"TCPIP0::127.0.0.1::{port(said['scpi'])}::SOCKET")
    session.read_termination = session.write_termination = "\n"
    session.timeout = 2000
    session.write("OUTP OFF")
    session.write("VOLT 5.25")
    session.write("CURRent:LEVel 0.5")
    expect("visa VOLT?", session.query("SOURce:VOLTage:LEVel:IMMediate:AMPLitude?"), lambda s: abs(float(s) - 5.25) < 1e-6)
    expect("visa OUTP? off", session.query("OUTP?"), lambda s: s.strip() == "0")
    session.write("OUTP ON")
    volts, until = 0, time.monotonic() + 8
    while volts <= 1 and time.monotonic() < until:
        volts = float(session.query("MEAS:VOLT?"))
    expect("visa volts after on", volts, lambda v: 1 < v < 5.5)
    session.write("OUTP OFF")
    expect("visa OUTP? off again", session.query("OUTPut:STATe?"), lambda s: s.strip() == "0")
    expect("visa no error", session.query("SYST:ERR?"), lambda s: s.startswith("0,") or s.startswith("+0,"))
    session.close()


def lid_by_mbpoll(said):
    """The person opens the lid a second after a client came to the supply."""
    session = pyvisa.ResourceManager("@py").open_resource(f"TCPIP0::127.0.0.1::{port(said['scpi'])}::SOCKET")
    seen = set()
    until = time.monotonic() + 8
    while len(seen) < 2 and time.monotonic() < until:
        out = subprocess.run(["mbpoll", "-m", "tcp", "-p", port(said["modbus"]), "-a", "1", "-0", "-r", "0", "-c", "2", "-t", "1", "-1", "-q", "127.0.0.1"],
                             capture_output=True, text=True, timeout=10)
        seen.add(tuple(line.split()[-1] for line in out.stdout.splitlines() if line.startswith("[")))
    session.close()
    expect("mbpoll saw the lid closed and open", sorted(seen), lambda s: s == [("0", "0"), ("1", "1")])


def load(path):
    """One load between two processes, in real time. A shared machine that stands
    still for over a second ends it as control-absent, which is right: then again."""
    (folder / "profile.yaml").write_text(PROFILE)
    for _ in range(3):
        run = subprocess.run([program, "run", "--json", "--bench", str(path), "--profile", str(folder / "profile.yaml"), "--journal", str(folder / "two.db")],
                             capture_output=True, text=True, timeout=240)
        result = json.loads(run.stdout.splitlines()[-1])
        if (result["trip"] or {}).get("code") not in ("control-absent", "interlock-open", "supply-silent"):
            break
    expect("two processes", result["outcome"], lambda o: o == "complete" and run.returncode == 0 and result["simulated"])
    review = json.loads(subprocess.run([program, "review", "last", "--json", "--journal", str(folder / "two.db")], capture_output=True, text=True, check=True).stdout)
    for field in ("live_area_cm2", "charge_coulombs", "thickness_by_volts_nm", "thickness_by_charge_nm", "end_current_density_ma_cm2", "hold_seconds"):
        got, want = review["estimates"][field], result[field]
        expect(f"reviewed {field}", got, lambda v: v == want or abs(v - want) <= 1e-9 * abs(want))


process, said, path = bench("bench.yaml")
try:
    scpi_by_lxi(said)
    scpi_by_visa(said)
finally:
    process.terminate()
    process.wait(20)
process, said, path = bench("lid.yaml")
try:
    lid_by_mbpoll(said)
finally:
    process.terminate()
    process.wait(20)
process, said, path = bench("load.yaml")
try:
    load(path)
finally:
    process.terminate()
    process.wait(20)
print("independent peers agree")
