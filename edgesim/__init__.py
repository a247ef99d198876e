"""Forecasts of wake-worn marsh edges defended by branch walls and oyster reef units."""

from __future__ import annotations

from importlib.metadata import PackageNotFoundError, version

try:
    __version__ = version("edgesim")
except PackageNotFoundError:  # used from a folder without installation
    __version__ = "0.0.0+local"

__all__ = ["__version__"]
