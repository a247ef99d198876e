"""Lets ``python -m edgesim`` do what ``edgesim`` does."""

from __future__ import annotations

from edgesim.cli.main import main

main()
