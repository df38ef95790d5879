"""Counts the instructions of a run of 1,000 bays on one thread and compares them with the record.

    python3 tests/benches/instructions.py [--record]

Needs valgrind; where there is none it says so and ends well. Warns above 10 % more than recorded: that
is no failure, as another compiler or library may count otherwise. `--record` writes the record anew.
"""

import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
RECORD = Path(__file__).with_suffix(".txt")
BAYS = "1000"
WARN_ABOVE = 0.10


def output_of(*command):
    done = subprocess.run(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    if done.returncode != 0:
        sys.exit(f"{' '.join(map(str, command))} exited with {done.returncode}:\n{done.stdout}")
    return done.stdout


def counted():
    output_of("cargo", "build", "--release", "--locked")
    with tempfile.TemporaryDirectory() as folder:
        schedule = Path(folder) / "schedule.xlsx"
        output_of("cargo", "bench", "--locked", "--bench", "floor", "--", "make", BAYS, schedule)
        said = output_of(
            "valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null",
            ROOT / "target/release/baytally", "--threads", "1", "run", schedule,
            "-o", Path(folder) / "out.xlsx", "--quiet",
        )
    return int(re.search(r"Collected : (\d+)", said).group(1))


def main():
    if shutil.which("valgrind") is None:
        print("SKIPPED the count of instructions: no valgrind (`apt-get install valgrind`)", file=sys.stderr)
        return
    now = counted()
    tools = [output_of("rustc", "--version").strip(), output_of("valgrind", "--version").strip()]
    if "--record" in sys.argv:
        lines = [f"instructions of {BAYS} bays on one thread: {now}", *tools]
        RECORD.write_text("\n".join(lines) + "\n")
        print(f"recorded {now:,} instructions")
        return
    first, *then = RECORD.read_text().splitlines()
    recorded = int(first.rpartition(" ")[2])
    change = now / recorded - 1
    print(f"{now:,} instructions of {BAYS} bays, {change:+.1%} against the record")
    if then != tools:
        print(f"counted with {', '.join(tools)}; the record with {', '.join(then)}", file=sys.stderr)
    if change > WARN_ABOVE:
        print(f"WARNING: more than {WARN_ABOVE:.0%} above the record", file=sys.stderr)


if __name__ == "__main__":
    main()
