"""Properties are tried on the same examples in every run, whatever the machine's speed."""

import signal

from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # Started in a shell's background: the commands that are sent Ctrl-C would inherit deafness.
    signal.signal(signal.SIGINT, signal.default_int_handler)
