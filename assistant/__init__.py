"""pullcall: an offline, hands-free field assistant for stretching wall-to-wall carpet."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
"""Before numpy is loaded. What it reckons here takes some ms: more threads wait for one another longer than that."""

__version__ = "0.1.0"
