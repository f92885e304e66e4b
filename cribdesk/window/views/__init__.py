"""One place of the window a module."""
