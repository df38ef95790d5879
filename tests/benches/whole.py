"""Whole runs of the program beside the least that they can cost and beside Python.

    python3 tests/benches/whole.py [--bays 100000] [--rounds 7] [--python-rounds 3]

Prints medians. `floor` reads the same schedule and writes the same cells with the program's own
libraries and computes nothing. The Python programs read the schedule, do one multiplication a
number and write as many cells of each kind, at the same compression; they need openpyxl,
python-calamine and XlsxWriter (`pip install openpyxl python-calamine XlsxWriter`) and are left out,
which is said, where those are missing. Also: growth to ten times the bays, peak memory, batches on
one and two workers, start-up. Needs an idle machine; CI does not run it.
"""

import argparse
import importlib.util
import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PROGRAM = ROOT / "target/release/baytally"


def floor_program():
    """The path of the bench `floor`, built."""
    subprocess.run(["cargo", "build", "--release", "--locked"], cwd=ROOT, check=True)
    made = subprocess.run(
        ["cargo", "bench", "--locked", "--no-run", "--bench", "floor", "--message-format", "json"],
        cwd=ROOT, check=True, stdout=subprocess.PIPE, text=True,
    )
    messages = (json.loads(line) for line in made.stdout.splitlines())
    built = (message for message in messages if message.get("executable"))
    return next(message["executable"] for message in built if message["target"]["name"] == "floor")


def run(command):
    """Milliseconds, megabytes at most and output of a process."""
    begun = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    out = process.stdout.read()
    _, status, usage = os.wait4(process.pid, 0)
    took = (time.perf_counter() - begun) * 1e3
    code = os.waitstatus_to_exitcode(status)
    if code != 0:
        sys.exit(f"{command[0]} exited with {code}")
    return took, usage.ru_maxrss / 1024, out


def median_of(rounds, command):
    times, sizes = zip(*(run(command)[:2] for _ in range(rounds)))
    return statistics.median(times), max(sizes)


def say(what, milliseconds, more=""):
    print(f"{what:<44} {milliseconds:>10,.1f} ms  {more}", flush=True)


def main():
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    words.add_argument("--bays", type=int, default=100_000)
    words.add_argument("--rounds", type=int, default=7)
    words.add_argument("--python-rounds", type=int, default=3)
    words.add_argument("--schedules", type=int, default=100, help="of 200 bays, in the batch")
    options = words.parse_args()
    floor = floor_program()
    folder = Path(tempfile.mkdtemp(prefix="whole-"))
    try:
        measure(options, floor, folder)
    finally:
        shutil.rmtree(folder)


def measure(options, floor, folder):
    schedule, output, shapes = folder / "schedule.xlsx", folder / "out.xlsx", folder / "shapes.json"
    small = folder / "small.xlsx"
    subprocess.run([floor, "make", str(options.bays), schedule], check=True)
    subprocess.run([floor, "make", str(options.bays // 10), small], check=True)
    job = [PROGRAM, "run", schedule, "-o", output, "--quiet", "--replace"]

    one, _ = median_of(options.rounds, [*job, "--threads", "1"])
    ours, memory = median_of(options.rounds, job)
    lesser, _ = median_of(options.rounds, [PROGRAM, "run", small, "-o", folder / "s.xlsx", "--quiet", "--replace"])
    figures = [json.loads(run([floor, schedule, output, shapes])[2]) for _ in range(options.rounds)]
    least = statistics.median(figure["read_ms"] + figure["write_ms"] for figure in figures)
    gzip = statistics.median(figure["gzip_ms"] for figure in figures)
    first = figures[0]
    print(f"{options.bays:,} bays: {first['cells_read']:,} cells read, {first['cells_written']:,} written")
    say("ours, all cores", ours, f"{memory:,.0f} MB at most (at most 300)")
    say("ours, one thread", one)
    say("floor", least, f"ours {ours / least:.2f} times (at most 1.5); gzip of its bytes {gzip:,.0f} ms, "
        f"{least / gzip:.1f} times that")
    say(f"ours, {options.bays // 10:,} bays", lesser, f"grown {ours / lesser:.1f} times (at most 10.5)")
    for name, modules, wanted in [
        ("openpyxl", ["openpyxl"], 8),
        ("calamine", ["python_calamine", "xlsxwriter"], 5),
    ]:
        missing = [module for module in modules if importlib.util.find_spec(module) is None]
        if missing:
            print(f"SKIPPED {name}: no module {', '.join(missing)}", file=sys.stderr)
            continue
        beside = [sys.executable, ROOT / "tests/benches/beside.py", name, schedule, shapes, folder / "py.xlsx"]
        took, size = median_of(options.python_rounds, beside)
        say(f"Python, {name}", took, f"{size:,.0f} MB; {took / ours:.2f} times ours (at least {wanted})")

    jobs = folder / "jobs"
    jobs.mkdir()
    for at in range(options.schedules):
        subprocess.run([floor, "make", "200", jobs / f"{at:03}.xlsx"], check=True)
    batch = {}
    for workers in [1, 2]:
        done = [PROGRAM, "batch", jobs, "-o", folder / f"out-{workers}", "--quiet", "--threads", str(workers)]
        batch[workers], _ = median_of(1, done)
    each = folder / "out-1"
    filed = sorted(each.rglob("000*.xlsx"))
    figure = json.loads(run([floor, jobs / "000.xlsx", filed[0], shapes])[2])
    a_file = figure["read_ms"] + figure["write_ms"]
    say(f"batch of {options.schedules} x 200 bays, one worker", batch[1])
    say("the same on two", batch[2], f"{batch[1] / batch[2]:.2f} times as fast (at least 1.8)")
    say("a schedule of it, by one worker", batch[1] / options.schedules,
        f"{batch[1] / options.schedules / a_file:.1f} times the floor of {a_file:.1f} ms (at most 1.5)")

    few = folder / "few.xlsx"
    subprocess.run([floor, "make", "40", few], check=True)
    say("--help", median_of(options.rounds, [PROGRAM, "--help"])[0], "(under 15)")
    once = [PROGRAM, "run", few, "-o", folder / "few-out.xlsx", "--quiet", "--replace"]
    say("run of 40 bays", median_of(options.rounds, once)[0], "(under 25)")


if __name__ == "__main__":
    main()
