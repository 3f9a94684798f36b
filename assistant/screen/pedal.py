"""The foot pedal: any three keys, learnt by pressing them, and a fourth that talks. F1 to F4 always do the same."""

ALWAYS = ("f1", "f2", "f3", "f4")
TALK = 3
"""Index of the one that talks; the others are the big keys."""
TALK_LETTER = "t"
"""Of a keyboard; it talks, too."""
_KEPT = {"escape", "ctrl+c", "ctrl+q", "enter", "tab"}
"""Keys that keep their own work."""


class Learning:
    """Takes the keys one after the other."""

    def __init__(self, talks: bool = False) -> None:
        """`talks`: a fourth key may be learnt, which talks."""
        self._talks = talks
        self.keys: tuple[str, ...] = ()
        """Learnt so far."""

    def press(self, key: str) -> str:
        """A pedal was pressed; what is wrong with its key, '' where it was taken. Enter ends it before the fourth."""
        if key == "enter" and self.at_talk:
            self._talks = False
            return ""
        if key in _KEPT:
            return f"'{key}' has its own work; set the pedal to another key"
        if key in self.keys:
            return f"'{key}' is pedal {self.keys.index(key) + 1} already"
        self.keys = (*self.keys, key)
        return ""

    @property
    def at_talk(self) -> bool:
        """The one that talks is next."""
        return self._talks and len(self.keys) == TALK

    @property
    def done(self) -> bool:
        """All are learnt."""
        return len(self.keys) == TALK + self._talks


def which(key: str, learnt: tuple[str, ...]) -> int | None:
    """Index of the big key that a pressed key stands for, or TALK; None for another key."""
    for keys in (learnt, ALWAYS):
        if key in keys:
            return keys.index(key)
    return None


def talks(key: str, learnt: tuple[str, ...]) -> bool:
    """Is it the talk key, which does its work whatever is open?"""
    at = which(key, learnt)
    return at == TALK or (at is None and key == TALK_LETTER)
