"""Inspection procedures as data, and the engine that runs them."""
