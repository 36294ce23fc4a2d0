"""The rules that come with boardvet: <area>/<rule_id>.py, one rule a module."""

from boardvet._version import __version__
from boardvet.review.packs import Pack

__all__ = ["PACK"]

PACK = Pack("built-in", __version__, "boardvet_rules")
