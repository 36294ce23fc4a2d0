"""Readers of exports, one module a format; called, it reads a board (see boardvet.api)."""

from boardvet._callable import call_as_function

call_as_function(__name__)
