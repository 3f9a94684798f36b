"""The four sides of a room, as seen standing in the main doorway looking in."""

from enum import Enum


class Wall(Enum):
    """One of the four walls."""

    DOOR = "door"
    FAR = "far"
    LEFT = "left"
    RIGHT = "right"

    @property
    def opposite(self) -> "Wall":
        """The wall facing this one."""
        return _OPPOSITE[self]


_OPPOSITE = {Wall.DOOR: Wall.FAR, Wall.FAR: Wall.DOOR, Wall.LEFT: Wall.RIGHT, Wall.RIGHT: Wall.LEFT}


class Axis(Enum):
    """A direction across the room."""

    DOOR_TO_FAR = "door_to_far"
    """Along the room's length."""
    LEFT_TO_RIGHT = "left_to_right"
    """Along the room's width."""

    @property
    def other(self) -> "Axis":
        """The direction square to this one."""
        return Axis.LEFT_TO_RIGHT if self is Axis.DOOR_TO_FAR else Axis.DOOR_TO_FAR


class Corner(Enum):
    """Where the job starts: its two walls are hooked first."""

    DOOR_LEFT = "door_left"
    DOOR_RIGHT = "door_right"
    FAR_LEFT = "far_left"
    FAR_RIGHT = "far_right"

    @property
    def walls(self) -> dict[Axis, Wall]:
        """The corner's wall at the near end of each axis."""
        across, beside = self.value.split("_")
        return {Axis.DOOR_TO_FAR: Wall(across), Axis.LEFT_TO_RIGHT: Wall(beside)}
