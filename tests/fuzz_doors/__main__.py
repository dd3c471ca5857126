"""Edge inputs through every door: `python -m tests.fuzz_doors 20000 --seed 1`.

`--only N` runs input N again and prints its files. What is not exit 0 with finite figures or exit
2 in words, within 20 times the usual time of its command, is a finding, told once for each place
in the code it comes from.
"""

import argparse

from tests.fuzz import end_with
from tests.fuzz_doors.run import made, run, tried


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("inputs", type=int, nargs="?", default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--door", help="inputs of one door only")
    parser.add_argument("--only", type=int, help="run this one input and print it")
    options = parser.parse_args()
    if options.only is not None:
        case = made(options.only, options.seed, options.door)
        for name, text in case.files.items():
            print(f"# {name}\n{text}")
        for told in tried(case):
            print(*told, sep="\n")
        return
    counts, findings, longest = run(options.inputs, options.seed, options.first, options.door)
    for (door, ending), count in sorted(counts.items()):
        print(f"{door:12} {ending:9} {count}")
    print(f"longest: {longest.seconds:.1f} s, {longest.what}")
    print(f"{sum(counts.values())} runs, {len(findings)} kinds of findings")
    end_with(findings)


if __name__ == "__main__":
    main()
