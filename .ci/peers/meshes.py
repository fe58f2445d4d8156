"""Meshes against what others wrote.

What is compared, and why: area, volume and box of solids, turned, dented and with a facet
missing, with a general-purpose mesh library of Debian (numpy-stl), which also writes the
files, text and binary: so its way to write numbers is read, not ours alone. Four solids are
held against their closed formulas too, as finely as their facets stand for them.

The library reckons in single precision, its area and its volume are good to as much, and
its word on closedness goes by a sum of normals in it: what is closed is so by its making
here. The published block is a file from elsewhere.
"""

import json
import logging
import math
import os
import subprocess
import sys
import tempfile

import numpy as np
import stl

from process import Failed, require

BLOCK = "controller/rack/mesh/testdata/published/angle_block.STL"
CM2, CM3 = 100.0, 1000.0  # mm2 and mm3
INCH = 25.4  # mm
logging.disable(logging.WARNING)  # of the library, about closedness


def revolved(outline, facets):
    """Triangles of a closed outline (r, z) turned round z, seen from outside."""
    angles = 2 * np.pi * np.arange(facets) / facets
    ring = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    triangles = []
    for (r0, z0), (r1, z1) in zip(outline, outline[1:]):
        for i in range(facets):
            here, there = ring[i], ring[(i + 1) % facets]
            a, b = (*(r0 * here), z0), (*(r0 * there), z0)
            c, d = (*(r1 * there), z1), (*(r1 * here), z1)
            if r0 > 0:
                triangles.append((a, b, c))
            if r1 > 0:
                triangles.append((a, c, d))
    return np.array(triangles)


def spacer(facets):
    outside, bore, high = 17, 14.3, 10
    return revolved([(bore, 0), (outside, 0), (outside, high), (bore, high), (bore, 0)], facets)


def ball(radius, rows):
    polar = np.pi * np.arange(rows + 1) / rows
    outline = [(radius * math.sin(p), -radius * math.cos(p)) for p in polar]
    outline[0], outline[-1] = (0, -radius), (0, radius)
    return revolved(outline, 2 * rows)


def cone(radius, high, facets):
    return revolved([(0, 0), (radius, 0), (0, high)], facets)


def bar(x, y, z):
    corners = np.array([(i, j, k) for i in (0, x) for j in (0, y) for k in (0, z)], float)
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    return np.array([[corners[f[i]] for i in pick] for f in faces for pick in ((0, 1, 2), (0, 2, 3))])


def moved(triangles, seed):
    """The same solid turned and shifted anyhow: a part lies in its file as it was drawn."""
    draw = np.random.default_rng(seed)
    turn, _ = np.linalg.qr(draw.normal(size=(3, 3)))
    if np.linalg.det(turn) < 0:
        turn[:, 0] *= -1
    return triangles @ turn.T + draw.uniform(-200, 200, 3)


def dented(triangles, seed):
    """A closed solid that no formula knows: each corner moved by where it is."""
    phase = np.random.default_rng(seed).uniform(0, 6, (3, 3))
    return triangles + 0.7 * np.sin(triangles @ phase / 20 + phase[0])


def ask(program, path, unit="mm"):
    said = subprocess.run([program, "area", "--mesh", path, "--unit", unit, "--json"], capture_output=True, text=True, timeout=60)
    require(said.returncode == 0, f"{path}: {said.stderr}")
    return json.loads(said.stdout)


WORST = {}


def near(what, name, ours, theirs, within):
    off = abs(ours / theirs - 1)
    WORST[what] = max(WORST.get(what, 0), off)
    require(off <= within, f"{name}: {what} is {ours:.8g} and {theirs:.8g}, {off:.3g} apart, more than {within:g}")


def compare(program, name, path, closed):
    """Holds what the program says of a file against what the library says of it."""
    theirs = stl.mesh.Mesh.from_file(path)
    ours = ask(program, path)
    vectors = theirs.vectors.astype(np.float64)
    normals = np.cross(vectors[:, 1] - vectors[:, 0], vectors[:, 2] - vectors[:, 0])
    near("area, by single precision", name, ours["area_cm2"], float(theirs.areas.sum(dtype=np.float64)) / CM2, 1e-6)
    near("area, by its corners", name, ours["area_cm2"], float(np.linalg.norm(normals, axis=1).sum()) / 2 / CM2, 1e-6)
    near("box", name, max(ours["bounds_mm"]), float((theirs.max_ - theirs.min_).max()), 1e-6)
    require(ours["triangles"] == len(theirs.vectors), f"{name}: {ours['triangles']} triangles, and {len(theirs.vectors)}")
    require(ours["closed"] == closed, f"{name}: closed is {ours['closed']}")
    if closed:
        near("volume", name, ours["volume_cm3"], abs(float(theirs.get_mass_properties()[0])) / CM3, 1e-4)
    return ours


def written(folder, name, triangles, mode):
    data = np.zeros(len(triangles), dtype=stl.mesh.Mesh.dtype)
    data["vectors"] = triangles
    path = os.path.join(folder, f"{name}.stl".replace(" ", "-"))
    stl.mesh.Mesh(data).save(path, mode=mode)
    return path


def main(program):
    formulas = {  # closed formulas of solid geometry, mm2 and mm3, and what the facets lose of them at most
        "spacer": (spacer(720), 2 * math.pi * (17 + 14.3) * 10 + 2 * math.pi * (17**2 - 14.3**2), math.pi * (17**2 - 14.3**2) * 10, 2e-5),
        "ball": (ball(20, 180), 4 * math.pi * 20**2, 4 / 3 * math.pi * 20**3, 2e-4),
        "cone": (cone(12, 30, 720), math.pi * 12 * (12 + math.hypot(12, 30)), math.pi * 12**2 * 30 / 3, 2e-5),
        "bar": (bar(100, 25, 1.5), 2 * (100 * 25 + 100 * 1.5 + 25 * 1.5), 100 * 25 * 1.5, 1e-6),
    }
    count = 0
    with tempfile.TemporaryDirectory() as folder:
        for mode_name, mode in (("text", stl.Mode.ASCII), ("binary", stl.Mode.BINARY)):
            for name, (triangles, area, volume, lost) in formulas.items():
                ours = compare(program, f"{name}, {mode_name}", written(folder, f"{name} {mode_name}", triangles, mode), True)
                near("formulas", name, ours["area_cm2"], area / CM2, lost)
                near("formulas", name, ours["volume_cm3"], volume / CM3, 2 * lost)
                compare(program, f"{name}, turned, {mode_name}", written(folder, f"{name} turned {mode_name}", moved(triangles, count), mode), True)
                compare(program, f"{name}, dented, {mode_name}", written(folder, f"{name} dented {mode_name}", dented(triangles, count), mode), True)
                compare(program, f"{name}, open, {mode_name}", written(folder, f"{name} open {mode_name}", triangles[1:], mode), False)
                count += 4
        ours = compare(program, "published block", BLOCK, True)
        near("area, in inches", "published block", ask(program, BLOCK, "in")["area_cm2"], ours["area_cm2"] * INCH**2, 1e-9)
        count += 1
    print(f"{count} meshes; worst: " + ", ".join(f"{what} {off:.1e}" for what, off in WORST.items()))


if __name__ == "__main__":
    try:
        main(sys.argv[1])
    except Failed as failed:
        sys.exit(f"meshes: {failed}")
