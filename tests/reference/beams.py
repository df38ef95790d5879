"""Compares the continuous beams of beams.json with the frame program PyNite.

Usage: python beams.py FOLDER, after the tests ran with BAYTALLY_REFERENCE_DIR=FOLDER.
Needs the package PyNiteFEA. Ends with status 1 where a figure is off.
"""

import json
import sys
from pathlib import Path

from Pynite import FEModel3D

# Relative to the greatest value of its kind along the line.
TOLERANCE = 1e-6


def solve(case):
    model = FEModel3D()
    model.add_material("m", 1.0, 1.0, 0.3, 1.0)
    parts = []
    if case["start_arm"]:
        parts.append(("start_arm", case["start_arm"]))
    parts += [(f"span{i}", span) for i, span in enumerate(case["spans"])]
    if case["end_arm"]:
        parts.append(("end_arm", case["end_arm"]))
    x = 0.0
    model.add_node("n0", 0.0, 0.0, 0.0)
    for index, (name, part) in enumerate(parts):
        x += part["length"]
        model.add_node(f"n{index + 1}", x, 0.0, 0.0)
        model.add_section(name, 1.0, part["ei"], part["ei"], 1.0)
        model.add_member(name, f"n{index}", f"n{index + 1}", "m", name)
        for load in part["loads"]:
            if "p" in load:
                model.add_member_pt_load(name, "Fy", -load["p"], load["at"])
            else:
                start, end = load.get("from", 0.0), load.get("to", part["length"])
                model.add_member_dist_load(name, "Fy", -load["w"], -load["w"], start, end)
    first = 1 if case["start_arm"] else 0
    supports = [f"n{first + i}" for i in range(len(case["spans"]) + 1)]
    for index in range(len(parts) + 1):
        name = f"n{index}"
        model.def_support(name, index == 0, name in supports, True, True, True, False)
    model.analyze_linear()
    reactions = [model.nodes[name].RxnFY["Combo 1"] for name in supports]
    return model, parts, reactions


def main():
    cases = json.loads((Path(sys.argv[1]) / "beams.json").read_text())
    worst = {"reaction": 0.0, "moment": 0.0, "deflection": 0.0, "extreme": 0.0}
    for case in cases:
        model, parts, reactions = solve(case)
        scale = max(abs(r) for r in reactions)
        for found, wanted in zip(case["reactions"], reactions):
            worst["reaction"] = max(worst["reaction"], abs(found - wanted) / scale)
        moments = max(abs(m) for _, part in parts for m in part["moments"])
        drops = max(abs(d) for _, part in parts for d in part["deflections"])
        for name, part in parts:
            member = model.members[name]
            for place, moment, drop in zip(part["places"], part["moments"], part["deflections"]):
                other = -member.moment("Mz", place)  # hogging is positive there
                worst["moment"] = max(worst["moment"], abs(moment - other) / moments)
                other = -member.deflection("dy", place)
                worst["deflection"] = max(worst["deflection"], abs(drop - other) / drops)
            other = -member.min_moment("Mz"), -member.max_moment("Mz")
            for found, wanted in zip((part["greatest_moment"], part["least_moment"]), other):
                worst["extreme"] = max(worst["extreme"], abs(found - wanted) / moments)
    print(f"{len(cases)} beams; greatest relative difference:")
    for kind, difference in worst.items():
        print(f"  {kind}: {difference:.2e}")
    if len(cases) != 200 or max(worst.values()) > TOLERANCE:
        sys.exit("figures differ")
    print("figures agree")


main()
