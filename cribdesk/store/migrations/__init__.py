"""The steps that bring a store's tables from one schema to the next: one numbered file each, kept for ever.

A step has `NUMBER`, `PERSONAL` (which columns stand in its entries as a digest) and `up(database)`, which
changes tables by what stands in them alone, so that it does the same to a store and to its replay.
"""
