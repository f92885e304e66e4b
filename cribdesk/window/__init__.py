"""Everything on screen, by Qt."""
