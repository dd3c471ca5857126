"""`python -m tests.regression [--write]`: show what changed, or write the table anew."""

import json
import sys

from tests.regression.estimates import NAMES, TABLE, estimates, write

if "--write" in sys.argv[1:]:
    write()
    print(f"{TABLE} written")
else:
    before = json.loads(TABLE.read_text(encoding="utf-8"))
    for name in NAMES:
        for outcome, figures in estimates(name).items():
            old = before.get(name, {}).get(outcome, {})
            for figure, value in figures.items():
                if old.get(figure) != value:
                    print(f"{name} {outcome} {figure}: {old.get(figure)} -> {value}")
