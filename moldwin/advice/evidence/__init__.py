"""Everything published that the tool is held against, recomputed on the spot."""
