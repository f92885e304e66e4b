"""Tests of the window; they run without a display."""
