"""pullcall: an offline, hands-free field assistant for stretching wall-to-wall carpet."""

__version__ = "0.1.0"
