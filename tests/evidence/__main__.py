"""`python -m tests.evidence [--write]`: print what the numbers rest on, or write its page anew."""

import sys

from tests.evidence.keep import PAGE, found, page

if "--write" in sys.argv[1:]:
    PAGE.write_text(page(found()), encoding="utf-8")
    print(f"{PAGE} written")
else:
    print(page(found()))
