"""The command line: `alberti [SONG]` opens the workshop; other commands need no screen."""

from __future__ import annotations


def main(argv: list[str] | None = None) -> int:
    """Run one command; returns its exit status."""
    raise SystemExit(f"being built: {argv}")
