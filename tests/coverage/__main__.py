"""`python -m tests.coverage [--write]`: print the page of published brews, or write it anew."""

import sys

from tests.coverage.keep import PAGE, texts, write

if "--write" in sys.argv[1:]:
    write()
    print(f"{PAGE} written")
else:
    print(texts()[2])
