"""The boards that a command line names."""

from __future__ import annotations

import argparse

__all__ = ["add_paths"]


def add_paths(parser: argparse.ArgumentParser) -> None:
    """Add the paths of one or several boards to what a command takes, as `path`."""
    parser.add_argument(
        "path",
        nargs="+",
        metavar="PATH",
        help="a folder, an intent page, or the exports in any order; "
        "several folders or pages are several boards",
    )
