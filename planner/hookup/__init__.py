"""The hook-up: antennas, cables, splitters, combiners, and the level at every receiver."""
