"""The version of boardvet, read by the build and by the reports."""

__version__ = "0.1.0"
