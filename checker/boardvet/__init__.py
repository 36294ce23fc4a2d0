"""boardvet: pre-order review of small battery boards."""

from boardvet._version import __version__

__all__ = ["__version__"]
