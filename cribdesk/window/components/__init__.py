"""Painted components: plain values in, signals out; no store and no desk rules."""
