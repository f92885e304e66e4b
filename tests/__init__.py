"""Tests, in the same tree as the rooms."""
