"""Fallowside: from scraps to food, recorded and planned without a signal."""

__version__ = "0.1.0"
