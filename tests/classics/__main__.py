"""`python -m tests.classics [--write]`: print the page of classic beers, or write it anew."""

import sys

from tests.classics.keep import PAGE, page

if "--write" in sys.argv[1:]:
    PAGE.write_text(page(), encoding="utf-8")
    print(f"{PAGE} written")
else:
    print(page())
