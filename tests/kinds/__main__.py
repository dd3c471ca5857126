"""`python -m tests.kinds [--write]`: print the audit of kinds, or write its page anew."""

import sys

from tests.kinds.keep import PAGE, page, scatters

if "--write" in sys.argv[1:]:
    PAGE.write_text(page(scatters()), encoding="utf-8")
    print(f"{PAGE} written")
else:
    print(page(scatters()))
