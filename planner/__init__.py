"""passband: choose, coordinate and document wireless microphones and in-ears for a tour."""

__version__ = "0.1.0"
