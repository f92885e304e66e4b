"""CribDesk: the tool-crib counter of a shop that welds. This file imports the standard library only."""

__version__ = "0.1.0"
