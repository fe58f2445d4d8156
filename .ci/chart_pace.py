"""The chart of 1,201 colours, by our program and by numpy, in turns on one machine.

    /usr/bin/python3 .ci/chart_pace.py [ROUNDS]

Each round measures each way once, one after the other, on one thread, by the best of
many runs over a seventh of a second of processor time: on a busy machine the other runs
are of the neighbours. What is printed are the medians over the rounds, and the median
of the ratios within a round. Not a part of the gate: it says how fast, not whether
right. That all give the same colours is looked at first.

All ways begin with the constants of the surface at hand, as a chart does, and end with
CIELAB of 0 V to 120 V by 0.1 V, 81 wavelengths each, of the default film on titanium.

    plain    film by film, one array of wavelengths at a time
    batched  all films and wavelengths as one array, cosine and sine of each phase
    turned   as batched, each phase from two tables by one complex product: our own way
"""

import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time

# One thread; and memory that was used is kept, or numpy's arrays would cost more in
# pages than in numbers.
TUNED = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "GOMAXPROCS": "1",
         "MALLOC_TRIM_THRESHOLD_": "1000000000", "MALLOC_MMAP_THRESHOLD_": "1000000000", "MALLOC_TOP_PAD_": "100000000"}
if any(os.environ.get(name) != value for name, value in TUNED.items()):
    os.execve(sys.executable, [sys.executable, *sys.argv], {**os.environ, **TUNED})

import numpy as np  # noqa: E402

sys.path.insert(0, ".ci/peers")
from colours import index, sums  # noqa: E402

BENCHMARK = re.compile(r"BenchmarkChart\S*\s+\d+\s+([0-9.]+) ns/op")
NM_PER_VOLT, OFFSET, ROWS = 1.97, 1.5, 1201
WAVELENGTHS = np.arange(380.0, 781, 5)
FILMS = OFFSET + NM_PER_VOLT * 0.1 * np.arange(ROWS)


def constants():
    """Of |(a + b z)/(1 + a b z)| squared, z = exp(-i phase): parts even, by cosine, by sine."""
    film, metal = np.conj(index("TiO2-Jolivet-amorphous", WAVELENGTHS)), np.conj(index("Ti-Johnson", WAVELENGTHS))
    assert np.all(film.imag == 0), "the phase of a lossy film needs an amplitude too"
    a, b = (1 - film) / (1 + film), (film - metal) / (film + metal)
    top, bottom = np.conj(a) * b, a * b
    return (4 * np.pi * film.real / WAVELENGTHS, np.abs(a) ** 2 + np.abs(b) ** 2, 2 * top.real, 2 * top.imag,
            1 + np.abs(bottom) ** 2, 2 * bottom.real, 2 * bottom.imag)


TURN, TOP, TOP_COS, TOP_SIN, BOTTOM, BOTTOM_COS, BOTTOM_SIN = constants()
WEIGHTS = np.ascontiguousarray(sums("D65", WAVELENGTHS).T)
WHITE = WEIGHTS.sum(axis=0)


def lab(xyz):
    share = xyz / WHITE
    f = np.where(share > 216 / 24389, np.cbrt(share), (24389 / 27 * share + 16) / 116)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], axis=-1)


def reflected(cosine, sine):
    return (TOP + TOP_COS * cosine + TOP_SIN * sine) / (BOTTOM + BOTTOM_COS * cosine + BOTTOM_SIN * sine)


def plain():
    return np.array([lab(reflected(np.cos(TURN * d), np.sin(TURN * d)) @ WEIGHTS) for d in FILMS])


def batched():
    phase = FILMS[:, None] * TURN
    return lab(reflected(np.cos(phase), np.sin(phase)) @ WEIGHTS)


def turned(block=32):
    step = FILMS[1] - FILMS[0]
    coarse = np.exp(1j * (FILMS[::block, None] * TURN))
    fine = np.exp(1j * (step * np.arange(block)[:, None] * TURN))
    wave = (coarse[:, None, :] * fine[None, :, :]).reshape(-1, len(TURN))[:ROWS]
    return lab(reflected(wave.real, wave.imag) @ WEIGHTS)


WAYS = {"plain": plain, "batched": batched, "turned": turned}


def theirs(way, processor=0.15):
    """Seconds of the best run."""
    best, until = float("inf"), time.process_time() + processor
    while time.process_time() < until:
        began = time.perf_counter()
        way()
        best = min(best, time.perf_counter() - began)
    return best


def ours(binary):
    """Seconds of the best run, of as many as take about as long."""
    out = subprocess.run([binary, "-test.run", "^$", "-test.bench", "^BenchmarkChart$", "-test.benchtime", "1x", "-test.count", "300"],
                         cwd="controller/colour", capture_output=True, text=True, check=True).stdout
    return min(float(ns) for ns in BENCHMARK.findall(out)) / 1e9


def same(anodized):
    done = subprocess.run([anodized, "colour", "--chart", "0 V..120 V", "--step", "0.1 V", "--json"], capture_output=True, text=True, check=True)
    rows = np.array([row["Lab"] for row in json.loads(done.stdout)["colours"]])
    for name, way in WAYS.items():
        off = np.max(np.abs(way() - rows))
        if not off < 1e-9:
            sys.exit(f"chart_pace: {name} differs from the program by {off:g}")


def main(rounds="15"):
    with tempfile.TemporaryDirectory() as folder:
        anodized, binary = folder + "/anodized", folder + "/colour.test"
        subprocess.run(["go", "build", "-o", anodized, "./cmd/anodized"], check=True)
        subprocess.run(["go", "test", "-c", "-o", binary, "./controller/colour"], check=True)
        same(anodized)
        took = {"ours": [], **{name: [] for name in WAYS}}
        for _ in range(int(rounds)):
            took["ours"].append(ours(binary))
            for name, way in WAYS.items():
                took[name].append(theirs(way))
    with open("/proc/loadavg", encoding="utf-8") as load:
        print(f"numpy {np.__version__}, {rounds} rounds, load of the machine {load.read().split()[0]}")
    for name, seconds in took.items():
        ratio = statistics.median(other / our for other, our in zip(seconds, took["ours"]))
        print(f"{name:8} {1e3 * statistics.median(seconds):7.3f} ms, {ratio:5.2f} times ours")


if __name__ == "__main__":
    main(*sys.argv[1:])
