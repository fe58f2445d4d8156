"""Colours against what others wrote.

What is compared, and why: the reflectance of a film, with another calculation of it;
XYZ, by sums of that; CIELAB and screen colours, by two general-purpose libraries of
Debian (colorspacious and colormath); CIEDE2000, by one of them (beside go-colorful of
the Go proxy, which the Go tests compare with). Every metal, illuminants and angles, and
other tables than the usual ones. The tables of indices and of the observer are ours
and theirs alike: they are published ones.

The reflectance here goes by fields, interface by interface and layer by layer, with
N = n + ik and exp(-i w t), all wavelengths and films at once; the program sums echoes,
with n - ik, film by film.
"""

import csv
import itertools
import json
import subprocess
import sys

import numpy as np
from colorspacious import cspace_convert
from colormath import color_diff_matrix
from colormath.color_conversions import convert_color
from colormath.color_objects import LabColor, XYZColor

from process import Failed, require

TABLES = "profiles/data/"
LOOKS = [  # metal, illuminant, angle, film, substrate
    *itertools.product(["titanium-grade-5"], ["D65", "D50", "A"], [0, 45], [None], [None]),
    *itertools.product(["niobium", "tantalum"], ["D65", "A"], [0], [None], [None]),
    ("titanium-grade-5", "D65", 20, "TiO2-Siefke", "Ti-Mash"),
    ("titanium-grade-5", "D65", 60, "TiO2-Franta", "Ti-Rakic-BB"),
    ("niobium", "D50", 8, "Nb2O5-Franta", "Nb-Weaver"),
]
WANTED = ["50,59,-48", "60,-23,-35", "82,-9,28", "0,0,0", "100,0,0", "53,80,67", "30,20,-50", "75,-7,-12", "45,63,-40", "20,0,0"]
WORST = {}


def compare(what, ours, theirs, within):
    """Keeps the largest difference of each kind; none may be above what it may be."""
    off = float(np.max(np.abs(np.asarray(ours) - np.asarray(theirs))))
    WORST[what] = max(WORST.get(what, 0), off)
    require(off <= within, f"{what} differs by {off:.3g}, more than {within:g}")


def table(path, *columns):
    with open(TABLES + path, encoding="utf-8") as lines:
        rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
    return [np.array([float(row[name]) for row in rows]) for name in columns]


def index(name, wavelengths):
    um, n, k = table(f"optical/{name}.csv", "wavelength_um", "n", "k")
    return np.interp(wavelengths, um * 1000, n) + 1j * np.interp(wavelengths, um * 1000, k)


def reflectance(film, metal, wavelengths, films, degrees):
    """Shares by film (rows) and wavelength (columns), for unpolarised light."""
    index_of = [np.ones_like(film), film, metal]
    sine = np.sin(np.radians(degrees))
    cosine = [np.sqrt(1 - (sine / n) ** 2 + 0j) for n in index_of]
    cosine = [np.where((n * c).imag < 0, -c, c) for n, c in zip(index_of, cosine)]
    phase = 2 * np.pi * index_of[1] * cosine[1] * films[:, None] / wavelengths

    def polarised(amplitudes):
        matrix = np.broadcast_to(np.eye(2, dtype=complex), phase.shape + (2, 2))
        for step in (0, 1):
            r, t = amplitudes(step, step + 1)
            border = np.array([[1 + 0 * r, r], [r, 1 + 0 * r]]) / t
            matrix = matrix @ np.moveaxis(border, (0, 1), (-2, -1))
            if step == 0:
                way = np.zeros(phase.shape + (2, 2), dtype=complex)
                way[..., 0, 0], way[..., 1, 1] = np.exp(-1j * phase), np.exp(1j * phase)
                matrix = matrix @ way
        return np.abs(matrix[..., 1, 0] / matrix[..., 0, 0]) ** 2

    def s(a, b):
        up, down = index_of[a] * cosine[a], index_of[b] * cosine[b]
        return (up - down) / (up + down), 2 * up / (up + down)

    def p(a, b):
        up, down = index_of[b] * cosine[a], index_of[a] * cosine[b]
        return (up - down) / (up + down), 2 * index_of[a] * cosine[a] / (up + down)

    return (polarised(s) + polarised(p)) / 2


def sums(illuminant, wavelengths):
    """What each wavelength adds to X, Y and Z where all its light comes back."""
    at, *observer = table("colorimetry/cie1931_2deg_1nm.csv", "wavelength_nm", "xbar", "ybar", "zbar")
    nm, power = table("colorimetry/illuminants_5nm.csv", "wavelength_nm", illuminant)
    weights = np.array([np.interp(wavelengths, nm, power) * np.interp(wavelengths, at, bar) for bar in observer])
    return 100 * weights / weights[1].sum()


def ciede2000(one, others):
    return color_diff_matrix.delta_e_cie2000(np.array(one, dtype=float), np.array(others, dtype=float))


def asked(anodized, *arguments):
    done = subprocess.run([anodized, "colour", "--json", *arguments], capture_output=True, text=True, timeout=120, check=False)
    require(done.returncode in (0, 1), "colour", *arguments, "ends with", done.returncode, done.stderr)
    return json.loads(done.stdout)


def chart(anodized, metal, illuminant, angle, film, substrate):
    arguments = ["--chart", "0 V..120 V", "--step", "0.5 V", "--spectrum", "--metal", metal, "--illuminant", illuminant, "--angle", str(angle)]
    if film:
        arguments += ["--film", film, "--substrate", substrate]
    return asked(anodized, *arguments)


def spectra(answer):
    rows = answer["colours"]
    wavelengths = np.array(rows[0]["spectrum"]["wavelength_nm"], dtype=float)
    films = np.array([row["thickness_nm"] for row in rows])
    theirs = reflectance(index(answer["film"], wavelengths), index(answer["substrate"], wavelengths), wavelengths, films, answer["angle_deg"])
    compare("reflectance", [row["spectrum"]["reflectance"] for row in rows], theirs, 1e-6)
    weights = sums(answer["illuminant"], wavelengths)
    xyz = theirs @ weights.T
    compare("XYZ", [row["XYZ"] for row in rows], xyz, 1e-6)
    return xyz, weights.sum(axis=1)


def lightness(answer, xyz, white):
    ours = [row["Lab"] for row in answer["colours"]]
    space = {"name": "CIELab", "XYZ100_w": white}
    compare("Lab, colorspacious", ours, cspace_convert(xyz, "XYZ100", space), 0.01)
    theirs = []
    for row in xyz / white * np.array([0.95047, 1, 1.08883]):  # against the white that colormath has
        lab = convert_color(XYZColor(*row, observer="2", illuminant="d65"), LabColor)
        theirs.append(lab.get_value_tuple())
    compare("Lab, colormath", ours, theirs, 0.01)
    return np.array(ours)


def screens(answer, xyz):
    """Bytes may differ by one: libraries have a matrix of more digits."""
    theirs = np.clip(cspace_convert(xyz, "XYZ100", "sRGB255"), 0, 255)
    ours = [[int(row["hex"][i:i + 2], 16) for i in (1, 3, 5)] for row in answer["colours"]]
    compare("screen, bytes", ours, np.round(theirs), 1)


def differences(answer, lab):
    """By the volt: from the row half a volt below to the one half a volt above."""
    ours = [row["de00_per_volt"] for row in answer["colours"][1:-1]]
    theirs = [ciede2000(lab[i - 1], lab[i + 1:i + 2])[0] for i in range(1, len(lab) - 1)]
    compare("CIEDE2000 by the volt", ours, theirs, 0.01)


def wanted(anodized):
    pairs = 0
    for text in WANTED:
        answer = asked(anodized, "--wanted", text)
        for candidate in answer["candidates"]:
            others = [candidate["Lab"]] + [shift["Lab"] for shift in candidate["illuminants"] + candidate["angles"]]
            compare("CIEDE2000 of candidates", candidate["de00"], ciede2000(answer["wanted"]["Lab"], others[:1])[0], 0.01)
            shifts = [shift["de00"] for shift in candidate["illuminants"] + candidate["angles"]]
            compare("CIEDE2000 of shifts", shifts, ciede2000(candidate["Lab"], others[1:]), 0.01)
            pairs += len(others)
    return pairs


def main(anodized):
    rows = 0
    for look in LOOKS:
        answer = chart(anodized, *look)
        xyz, white = spectra(answer)
        lab = lightness(answer, xyz, white)
        if look[1] == "D65":
            screens(answer, xyz)
        differences(answer, lab)
        rows += len(lab)
    pairs = wanted(anodized)
    print(f"{rows} colours in {len(LOOKS)} ways of looking, {pairs} more pairs; largest differences:")
    for what, off in WORST.items():
        print(f"  {what}: {off:.2g}")


if __name__ == "__main__":
    try:
        main(*sys.argv[1:])
    except Failed as failed:
        sys.exit(f"colours: {failed}")
