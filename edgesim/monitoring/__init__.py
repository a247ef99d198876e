"""Monitoring: surveys come in, and futures are weighted by them."""
