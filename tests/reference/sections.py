"""Compares the gross sections of sections.json with the package sectionproperties.

Usage: python sections.py FOLDER, after the tests ran with BAYTALLY_REFERENCE_DIR=FOLDER.
Needs the package sectionproperties. Ends with status 1 where a figure is off by more than 0.5 %.
"""

import json
import math
import sys
from pathlib import Path

from sectionproperties.analysis import Section
from sectionproperties.pre import Geometry
from shapely.geometry import LineString

TOLERANCE = 0.005
ARC_STEPS = 24


def middle_line(case):
    """One pitch of the middle of the sheet, from mid bottom flat to mid bottom flat."""
    t, pitch = case["thickness"], case["pitch"]
    low, high = t / 2, case["depth"] - t / 2
    run = (pitch - case["top"] - case["bottom"]) / 2
    corners = [
        (0.0, low),
        (case["bottom"] / 2, low),
        (case["bottom"] / 2 + run, high),
        (case["bottom"] / 2 + run + case["top"], high),
        (case["bottom"] / 2 + 2 * run + case["top"], low),
        (pitch, low),
    ]
    radius = case["radius"] + t / 2
    points = [corners[0]]
    for before, corner, after in zip(corners, corners[1:], corners[2:]):
        way_in = math.atan2(corner[1] - before[1], corner[0] - before[0])
        way_out = math.atan2(after[1] - corner[1], after[0] - corner[0])
        turn = way_out - way_in
        tangent = radius * math.tan(abs(turn) / 2)
        side = math.copysign(1.0, turn)
        start = (corner[0] - tangent * math.cos(way_in), corner[1] - tangent * math.sin(way_in))
        centre = (start[0] - side * radius * math.sin(way_in), start[1] + side * radius * math.cos(way_in))
        for step in range(ARC_STEPS + 1):
            angle = way_in + turn * step / ARC_STEPS
            points.append(
                (centre[0] + side * radius * math.sin(angle), centre[1] - side * radius * math.cos(angle))
            )
    points.append(corners[-1])
    return LineString(points)


def main():
    cases = json.loads((Path(sys.argv[1]) / "sections.json").read_text())
    worst = {"area": 0.0, "centroid": 0.0, "inertia": 0.0}
    for case in cases:
        sheet = middle_line(case).buffer(case["thickness"] / 2, cap_style="flat")
        geometry = Geometry(sheet).create_mesh(mesh_sizes=[0.0], coarse=True)
        section = Section(geometry)
        section.calculate_geometric_properties()
        others = {
            "area": section.get_area(),
            "centroid": section.get_c()[1],
            "inertia": section.get_ic()[0],
        }
        for kind, other in others.items():
            off = abs(case[kind] / other - 1)
            worst[kind] = max(worst[kind], off)
            if off > TOLERANCE:
                print(f"{case['name']} t {case['thickness']}: {kind} {case[kind]} is not {other}")
    print(f"{len(cases)} sections; greatest relative difference:")
    for kind, difference in worst.items():
        print(f"  {kind}: {difference:.2e}")
    if len(cases) != 72 or max(worst.values()) > TOLERANCE:
        sys.exit("figures differ")
    print("figures agree")


main()
