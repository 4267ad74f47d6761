"""Stanchion: a REST service for safe patient handling."""

__version__ = "0.1.0"
