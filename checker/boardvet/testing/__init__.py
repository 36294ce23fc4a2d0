"""What authors of rules need: boards in a few lines of text, and a runner for one rule."""

from boardvet.testing.examples import examples_of, judge
from boardvet.testing.notation import NotationError, board_of, circuit_of

__all__ = ["NotationError", "board_of", "circuit_of", "examples_of", "judge"]
