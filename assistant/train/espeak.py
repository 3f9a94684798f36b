"""espeak-ng as a library."""

import ctypes
from functools import cache


@cache
def espeak() -> ctypes.CDLL:
    """Started once a process: after a second start 1.52.0 goes on with phonemes in memory that it has freed."""
    import espeakng_loader

    library = ctypes.CDLL(espeakng_loader.get_library_path())
    library.espeak_Initialize(2, 0, espeakng_loader.get_data_path().encode(), 0)
    library.espeak_TextToPhonemes.restype = ctypes.c_char_p
    return library
