"""The foot pedal: any three keys, learnt by pressing them. F1, F2 and F3 always do the same."""

ALWAYS = ("f1", "f2", "f3")
_KEPT = {"escape", "ctrl+c", "ctrl+q", "enter", "tab"}
"""Keys that keep their own work."""


class Learning:
    """Takes the three keys one after the other."""

    def __init__(self) -> None:
        self.keys: tuple[str, ...] = ()
        """Learnt so far."""

    def press(self, key: str) -> str:
        """A pedal was pressed; what is wrong with its key, '' where it was taken."""
        if key in _KEPT:
            return f"'{key}' has its own work; set the pedal to another key"
        if key in self.keys:
            return f"'{key}' is pedal {self.keys.index(key) + 1} already"
        self.keys = (*self.keys, key)
        return ""

    @property
    def done(self) -> bool:
        """All three are learnt."""
        return len(self.keys) == len(ALWAYS)


def which(key: str, learnt: tuple[str, ...]) -> int | None:
    """Index of the big key that a pressed key stands for; None for another key."""
    for keys in (learnt, ALWAYS):
        if key in keys:
            return keys.index(key)
    return None
