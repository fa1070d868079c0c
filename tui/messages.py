"""What other threads tell the screen."""

from __future__ import annotations

from textual.message import Message

from engine.workshop import Ideas
from tui.maker import Made


class StagesMade(Message):
    """The maker has finished the stages of a song."""

    def __init__(self, made: Made) -> None:
        super().__init__()
        self.made = made

    def can_replace(self, message: Message) -> bool:
        return isinstance(message, StagesMade)


class IdeasFound(Message):
    """The reharmoniser has answered."""

    def __init__(self, ideas: Ideas) -> None:
        super().__init__()
        self.ideas = ideas
