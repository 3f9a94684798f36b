"""What the tests of the virtual room need of the machine."""

import sys

import pytest

from assistant.gauges.room import missing

LACKS = missing() if sys.platform == "linux" else ["Linux"]
needs_room = pytest.mark.skipif(bool(LACKS), reason=f"no virtual room here, it needs {', '.join(LACKS)}")
